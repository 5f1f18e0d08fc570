package api

import (
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// etag writes a record's rev as a strong entity tag.
func etag(rev int64) string { return `"` + strconv.FormatInt(rev, 10) + `"` }

// ifMatch reads the If-Match header (RFC 9110 section 13.1.1): a list of entity tags or *. Weak tags never match.
// Errors: PreconditionRequired when it is absent, Malformed.
func ifMatch(c *gin.Context) (domain.Rev, error) {
	header := strings.TrimSpace(strings.Join(c.Request.Header.Values("If-Match"), ","))
	if header == "" {
		return domain.Rev{}, domain.Errorf(domain.PreconditionRequired,
			`Send If-Match with the ETag of the record as you read it, such as If-Match: "42".`)
	}
	if header == "*" {
		return domain.Rev{Any: true}, nil
	}
	var rev domain.Rev
	for tag := range strings.SplitSeq(header, ",") {
		tag = strings.TrimSpace(tag)
		if tag == "" || strings.HasPrefix(tag, "W/") {
			continue
		}
		inner, ok := strings.CutPrefix(tag, `"`)
		inner, closed := strings.CutSuffix(inner, `"`)
		if !ok || !closed {
			return domain.Rev{}, domain.Errorf(domain.Malformed, `If-Match is not a list of quoted entity tags, such as "42".`)
		}
		if v, err := strconv.ParseInt(inner, 10, 64); err == nil && etag(v) == tag { // octet for octet: "007" is not "7"
			rev.Of = append(rev.Of, v)
		}
	}
	return rev, nil
}

// noneMatch tells whether the client already has this entity tag (RFC 9110 section 13.1.2, weak comparison).
func noneMatch(c *gin.Context, tag string) bool {
	header := strings.Join(c.Request.Header.Values("If-None-Match"), ",")
	for given := range strings.SplitSeq(header, ",") {
		given = strings.TrimPrefix(strings.TrimSpace(given), "W/")
		if given == "*" || given == tag {
			return true
		}
	}
	return false
}
