package draining

import (
	"cmp"
	"context"
	"slices"
)

// Solve follows the line from rest until nothing leaves it any more, or to the horizon.
func Solve(ctx context.Context, in Input) (Result, error) {
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	if len(in.Openings) > 0 {
		f, err := newFast(&in)
		if err != nil {
			return Result{}, err
		}
		if err := f.run(ctx); err != nil {
			return Result{}, err
		}
		f.report()
		return *f.out, nil
	}
	s := newSlow(&in)
	if err := s.run(ctx); err != nil {
		return Result{}, err
	}
	s.report()
	r := s.out
	slices.SortStableFunc(r.Events, func(a, b Event) int { return cmp.Compare(a.Time, b.Time) })
	return *r, nil
}
