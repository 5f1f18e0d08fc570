package api

import (
	"net/http"

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

// GetDocs shows the reference page.
func (s *Server) GetDocs(c *gin.Context) {
	r := c.Request.Clone(c.Request.Context())
	r.URL.Path = docsAssets
	viewer.ServeHTTP(c.Writer, r)
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
