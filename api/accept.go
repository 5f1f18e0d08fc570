package api

import (
	"mime"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

const (
	mediaJSON = "application/json"
	mediaHTML = "text/html"
	mediaCSV  = "text/csv"
)

// accepted chooses among the media types that can be served by the Accept header (RFC 9110 section 12.5.1); of
// equals the first offered wins. Errors: NotAcceptable.
func accepted(c *gin.Context, offers ...string) (string, error) {
	header := strings.Join(c.Request.Header.Values("Accept"), ",")
	if strings.TrimSpace(header) == "" {
		return offers[0], nil
	}
	best, bestQ := "", 0.0
	for _, offer := range offers {
		if q := quality(header, offer); q > bestQ {
			best, bestQ = offer, q
		}
	}
	if best == "" {
		return "", domain.Errorf(domain.NotAcceptable, "This can be had as %s.", strings.Join(offers, " or "))
	}
	return best, nil
}

// quality gives the weight of an offer under an Accept header: that of the most specific range that fits.
func quality(header, offer string) float64 {
	kind, _, _ := strings.Cut(offer, "/")
	found, specific := 0.0, -1
	for part := range strings.SplitSeq(header, ",") {
		media, params, err := mime.ParseMediaType(part)
		if err != nil {
			continue
		}
		level := -1
		switch media {
		case offer:
			level = 2
		case kind + "/*":
			level = 1
		case "*/*":
			level = 0
		}
		if level > specific {
			found, specific = weight(params["q"]), level
		}
	}
	return found
}

func weight(q string) float64 {
	if q == "" {
		return 1
	}
	v, err := strconv.ParseFloat(q, 64)
	if err != nil || !(v >= 0 && v <= 1) { // NaN is neither
		return 0
	}
	return v
}

// wantsPage tells whether a browser asks: it would rather have a page than JSON.
func wantsPage(c *gin.Context) bool {
	best, err := accepted(c, mediaJSON, mediaHTML)
	return err == nil && best == mediaHTML
}
