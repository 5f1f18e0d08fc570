package pages

import (
	"fmt"
	"io"
	"strings"
)

// CodeView is a sign-in code and the picture of the address that holds it: a square of so many modules, black or white.
type CodeView struct {
	Code  string
	Size  int
	Black func(x, y int) bool
}

// quiet is the white around the picture, in modules, as ISO/IEC 18004 wants it (from memory).
const quiet = 4

// Side is the picture's side with the white around it.
func (v CodeView) Side() int { return v.Size + 2*quiet }

// Path draws the black modules: a rectangle for each run of a row.
func (v CodeView) Path() string {
	var b strings.Builder
	for y := range v.Size {
		for x := 0; x < v.Size; x++ {
			n := 0
			for x+n < v.Size && v.Black(x+n, y) {
				n++
			}
			if n > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+quiet, y+quiet, n, n)
				x += n
			}
		}
	}
	return b.String()
}

// Code writes the page that shows a sign-in code.
func Code(w io.Writer, v CodeView) error { return draw(w, "signincode.html", v) }

// CodePicture writes the picture alone, as an SVG document with the code as its title.
func CodePicture(w io.Writer, v CodeView) error { return draw(w, "picture", v) }
