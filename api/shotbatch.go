package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
	jsonv2 "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"cagework/domain"
	"cagework/openapi"
)

// batchItem is how one item of a batch ended.
type batchItem struct {
	Index   int              `json:"index"`
	ID      *domain.ID       `json:"id"` // null when it could not be read
	Status  domain.PutStatus `json:"status"`
	Rev     *int64           `json:"rev"`
	Problem *Problem         `json:"problem"`
}

// PutShots puts many shots at once. Each item stands alone: the answer is 207 whatever the mix.
func (s *Server) PutShots(c *gin.Context) {
	raw, err := batchBody(c)
	if err != nil {
		fail(c, err)
		return
	}
	results := make([]batchItem, len(raw))
	items, places := []domain.ShotItem{}, []int{}
	for i, text := range raw {
		item, err := shotItem(text, operation(c))
		results[i] = batchItem{Index: i}
		if !item.ID.IsZero() {
			results[i].ID = &item.ID
		}
		if err != nil {
			results[i].refuse(c, domain.ItemInvalid, err)
			continue
		}
		items, places = append(items, item), append(places, i)
	}
	put, err := s.stores.Shots.PutMany(c.Request.Context(), actor(c), items)
	if err != nil {
		fail(c, err)
		return
	}
	for k, result := range put {
		at := &results[places[k]]
		if result.Err != nil {
			at.refuse(c, result.Status, result.Err)
			continue
		}
		at.Status, at.Rev = result.Status, &result.Shot.Rev
	}
	writeJSON(c, http.StatusMultiStatus, struct {
		Items []batchItem `json:"items"`
	}{results})
}

func (b *batchItem) refuse(c *gin.Context, status domain.PutStatus, err error) {
	problem, e := problemOf(c, err)
	b.Status, b.Problem = status, &problem
	if e.Rev > 0 { // what to compare with, as the ETag of a PUT's refusal
		b.Rev = &e.Rev
	}
}

// batchBody reads the array without reading its items, so that a bad item is only that item's fault.
func batchBody(c *gin.Context) ([]jsontext.Value, error) {
	var raw []jsontext.Value
	if err := jsonv2.UnmarshalRead(c.Request.Body, &raw); err != nil {
		err := decodeError(err)
		if domain.CodeOf(err) == domain.Invalid {
			return nil, domain.Errorf(domain.Malformed, "The body must be an array of shots.")
		}
		return nil, err
	}
	if len(raw) < 1 || len(raw) > domain.MaxBatch {
		return nil, domain.Errorf(domain.Malformed, "A batch has from 1 to %d items; this one has %d.", domain.MaxBatch, len(raw))
	}
	return raw, nil
}

// shotItem reads one item strictly. Its id is given even when the rest cannot be read, so that the client knows
// which one it was.
func shotItem(text jsontext.Value, op openapi.Operation) (domain.ShotItem, error) {
	item, err := decodeMembers[domain.ShotItem](text, op)
	if err != nil {
		var id struct {
			ID domain.ID `json:"id"`
		}
		_ = jsonv2.Unmarshal(text, &id) // when even this fails there is no id to give
		item.ID = id.ID
	}
	return item, err
}
