package pages

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"io"
)

//go:embed *.html page.css
var files embed.FS

var (
	css       = style()
	templates = template.Must(template.New("pages").Funcs(words).ParseFS(files, "*.html"))
)

func style() template.CSS {
	data, _ := files.ReadFile("page.css") // embedded: it is there
	return template.CSS(data)             //nolint:gosec // our own file, no input
}

// StyleSource gives the source by which a Content-Security-Policy allows the pages' one style sheet, and no other:
// 'sha256-…' with its quotes, for style-src.
func StyleSource() string {
	sum := sha256.Sum256([]byte(css))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// draw runs a template. A page is written whole or, on an error, not at all.
func draw(w io.Writer, name string, view any) error {
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, name, view); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
