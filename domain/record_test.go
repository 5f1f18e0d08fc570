package domain

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestARecordIsOneFlatObject(t *testing.T) {
	id := NameID(ID{}, "x")
	for want, record := range map[string]any{
		`{"id":"` + id.String() + `","name":"Spring","starts_on":"2026-02-01","ends_on":"2026-06-01","rev":7}`: Season{
			ID: id, Rev: 7, Fields: SeasonFields{"Spring", dateOf(t, "2026-02-01"), dateOf(t, "2026-06-01")},
		},
		`{"id":"` + id.String() + `","rev":0}`: Record[None, None]{ID: id},
		`{"id":"` + id.String() + `","shot_id":"` + id.String() + `","how_read":"film","habits":{"on_angle":"yes"},"member_id":"` +
			id.String() + `","game_id":"` + id.String() + `","rev":1}`: Reading{
			id, 1, ReadingFields{id, Film, map[string]Answer{"on_angle": Yes}}, ReadingFound{id, id},
		},
	} {
		raw, err := json.Marshal(record)
		require.NoError(t, err)
		assert.Equal(t, want, string(raw)) // the order of the members is meant
	}
}

func TestADosesMembersAreOnTheDrillItself(t *testing.T) {
	raw, err := json.Marshal(Starter(ID{}).Drills[0])
	require.NoError(t, err)
	var flat map[string]any
	require.NoError(t, json.Unmarshal(raw, &flat))
	assert.Contains(t, flat, "times_a_week")
	assert.NotContains(t, flat, "Dose")
}

func TestRevMatches(t *testing.T) {
	assert.True(t, Rev{Any: true}.Matches(5))
	assert.True(t, Rev{Of: []int64{3, 5}}.Matches(5))
	assert.False(t, Rev{Of: []int64{3}}.Matches(5))
	assert.False(t, Rev{}.Matches(0))
}
