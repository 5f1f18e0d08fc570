package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"net/url"
	"regexp"

	"github.com/gin-gonic/gin"
	"github.com/swaggest/swgui"
	"github.com/swaggest/swgui/v5emb"

	"cagework/openapi"
)

// docsAssets is where the reference page's script and style are served from; they are in the binary.
const docsAssets = "/docs/assets/"

// viewer shows the contract. Its validator would ask another host, so it is off.
var viewer = v5emb.NewHandlerWithConfig(swgui.Config{
	Title: "Cagework API", SwaggerJSON: "/openapi.yaml", BasePath: docsAssets, InternalBasePath: docsAssets,
	SettingsUI: map[string]string{"validatorUrl": "null"},
})

// docsPolicy lets the reference page run its own script and nobody else's, and talk to this service alone. The few lines of
// script that stand in the page itself are told by their sums.
var docsPolicy = policyOf(docsPage())

// docsPage gives the reference page. The viewer only knows how to answer a request.
func docsPage() []byte {
	w := &written{header: http.Header{}}
	viewer.ServeHTTP(w, &http.Request{Method: http.MethodGet, URL: &url.URL{Path: docsAssets}})
	return w.Bytes()
}

// written is an answer that is kept.
type written struct {
	header http.Header
	bytes.Buffer
}

func (w *written) Header() http.Header { return w.header }
func (w *written) WriteHeader(int)     {}

var inlineScript = regexp.MustCompile(`(?s)<script>(.*?)</script>`)

func policyOf(page []byte) string {
	scripts := "script-src 'self'"
	for _, match := range inlineScript.FindAllSubmatch(page, -1) {
		sum := sha256.Sum256(match[1])
		scripts += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; " + scripts + "; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; " +
		"frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
}

// GetDocs shows the reference page.
func (s *Server) GetDocs(c *gin.Context) {
	c.Header("Content-Security-Policy", docsPolicy)
	c.Header("Referrer-Policy", "no-referrer")
	c.Header("Cache-Control", "no-cache")
	c.Data(http.StatusOK, "text/html; charset=utf-8", docsPage())
}

func (s *Server) docsAsset(c *gin.Context) {
	c.Header("Cache-Control", "public, max-age=86400")
	viewer.ServeHTTP(c.Writer, c.Request)
}

// GetContract sends the contract as it is written.
func (s *Server) GetContract(c *gin.Context) {
	c.Header("Cache-Control", "no-cache")
	c.Data(http.StatusOK, "application/yaml", openapi.YAML)
}
