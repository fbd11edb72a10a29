package main

import (
	"fmt"
	"strings"
	"sync"
	"time"
)

// patience is how long work goes on before its progress is shown.
const patience = time.Second

// progress shows on one line of the terminal how far work has come.
type progress struct {
	c     *console
	mu    sync.Mutex
	begun time.Time
	shown bool
}

func newProgress(c *console) *progress { return &progress{c: c, begun: time.Now()} }

// step tells that done of total pieces of work are finished.
func (p *progress) step(done, total int, what string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.c.live || time.Since(p.begun) < patience {
		return
	}
	text := fmt.Sprintf("%d of %d  %s", done, total, what)
	if r := []rune(text); len(r) >= p.c.width {
		text = string(r[:p.c.width-2]) + "…"
	}
	fmt.Fprint(p.c.err, "\r\x1b[K", text)
	p.shown = true
}

// end clears the line.
func (p *progress) end() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.shown {
		fmt.Fprint(p.c.err, "\r\x1b[K")
	}
}

// list joins words with commas and "and".
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}
