package study

import (
	"context"
	"fmt"
	"strings"

	"obvert/document"
	"obvert/line"
)

// Compare studies the same line with one type of the rack after another at every valve, in the order of the names given. A name that no record bears
// is an error that names the nearest one that there is.
func Compare(ctx context.Context, src Source, records []string, o Options) ([]*Result, error) {
	index := map[string]int{}
	var names []string
	for i, r := range src.Line.Rack {
		index[r.Name] = i
		names = append(names, r.Name)
	}
	var unknown []string
	for _, n := range records {
		if _, ok := index[n]; !ok {
			hint := "the rack holds " + strings.Join(names, ", ")
			if near, ok := document.Nearest(n, names); ok {
				hint = fmt.Sprintf("do you mean %q?", near)
			}
			unknown = append(unknown, fmt.Sprintf("no valve %q in the rack: %s", n, hint))
		}
	}
	if len(unknown) > 0 {
		return nil, fmt.Errorf("study: %s", strings.Join(unknown, "; "))
	}
	var all []*Result
	for _, n := range records {
		one := src
		one.Line = withType(src.Line, index[n])
		r, err := Solve(ctx, one, o)
		if err != nil {
			return nil, fmt.Errorf("with %s: %w", n, err)
		}
		all = append(all, r)
	}
	return all, nil
}

// withType is the line with one type at every valve. Whether a place admits air stays as the place says it, unless the type cannot.
func withType(l *line.Line, record int) *line.Line {
	c := *l
	c.Runs = append([]line.Run(nil), l.Runs...)
	for i := range c.Runs {
		c.Runs[i].Placed = append([]line.Placed(nil), l.Runs[i].Placed...)
		for j := range c.Runs[i].Placed {
			c.Runs[i].Placed[j].Record = record
		}
	}
	return &c
}
