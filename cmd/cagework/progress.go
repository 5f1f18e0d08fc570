package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/mattn/go-isatty"
)

// progressBar shows on a terminal how far something is. Elsewhere it shows nothing.
type progressBar struct {
	out   io.Writer // nil when it is no terminal
	what  string
	shown int // of the bar's width
}

const barWidth = 40

func newProgressBar(out io.Writer, what string) *progressBar {
	if f, is := out.(*os.File); !is || !isatty.IsTerminal(f.Fd()) {
		out = nil
	}
	return &progressBar{out: out, what: what, shown: -1}
}

// set shows that so many of all are done. It writes only when that can be seen.
func (b *progressBar) set(done, all int) {
	if b.out == nil || all == 0 {
		return
	}
	width := barWidth * done / all
	if width == b.shown {
		return
	}
	b.shown = width
	_, _ = fmt.Fprintf(b.out, "\r%s [%s%s] %3d %%", b.what, strings.Repeat("=", width), strings.Repeat(" ", barWidth-width), 100*done/all)
}

// clear takes the bar away.
func (b *progressBar) clear() {
	if b.out != nil && b.shown >= 0 {
		_, _ = fmt.Fprint(b.out, "\r\033[K")
	}
}
