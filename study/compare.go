package study

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"obvert/document"
	"obvert/line"
)

// Compare studies the same line with one type of the rack after another at every valve, on all cores, and lays what comes of them side by side in the order of the
// names given. The same names in another order give the same figures in that order. Names that no record bears, a name given twice, fewer than [LeastCompared] or
// more than [MostCompared] are errors that say what there is.
func Compare(ctx context.Context, src Source, records []string, o Options) (*Comparison, error) {
	index, err := chosen(src.Line, records)
	if err != nil {
		return nil, err
	}
	all := make([]*Result, len(index))
	progress := o.shared(len(index))
	err = parallel(ctx, len(index), func(i int) error {
		one, opt := src, o
		one.Line = withType(src.Line, index[i])
		opt.Progress = progress(i)
		opt.First = nil
		r, err := Solve(ctx, one, opt)
		if err != nil {
			return fmt.Errorf("with %s: %w", records[i], err)
		}
		all[i] = r
		return nil
	})
	if err != nil {
		return nil, err
	}
	return SideBySide(all, index)
}

// chosen finds the records named.
func chosen(l *line.Line, records []string) ([]int, error) {
	byName := map[string]int{}
	var names, wrong []string
	for i, r := range l.Rack {
		byName[r.Name] = i
		names = append(names, r.Name)
	}
	var index []int
	for i, n := range records {
		at, ok := byName[n]
		switch {
		case !ok:
			hint := "the rack holds " + strings.Join(names, ", ")
			if near, ok := document.Nearest(n, names); ok {
				hint = fmt.Sprintf("do you mean %q?", near)
			}
			wrong = append(wrong, fmt.Sprintf("no valve %q in the rack: %s", n, hint))
		case slices.Contains(records[:i], n):
			wrong = append(wrong, fmt.Sprintf("valve %q is named twice: name each type once", n))
		}
		index = append(index, at)
	}
	if n := len(records); n < LeastCompared || n > MostCompared {
		wrong = append(wrong, fmt.Sprintf("%d types to compare: name %d to %d", n, LeastCompared, MostCompared))
	}
	if wrong != nil {
		return nil, fmt.Errorf("study: %s", strings.Join(wrong, "; "))
	}
	return index, nil
}

// shared makes one progress of the progress of n studies that run at once.
func (o Options) shared(n int) func(i int) func(done, total int, what string) {
	if o.Progress == nil {
		return func(int) func(int, int, string) { return nil }
	}
	var mu sync.Mutex
	done, total := make([]int, n), make([]int, n)
	return func(i int) func(int, int, string) {
		return func(d, t int, what string) {
			mu.Lock()
			defer mu.Unlock()
			done[i], total[i] = d, t
			sum, all := 0, 0
			for k := range done {
				sum += done[k]
				all += max(total[k], t) // one that has not begun is as long as the others
			}
			o.Progress(sum, all, what)
		}
	}
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
