package study

import (
	"context"

	"obvert/engine/grade"
	"obvert/engine/sealing"
)

// draws repeats the judgement of every valve with errors drawn by chance.
func (s *solver) draws(ctx context.Context) error {
	if len(s.judged.Valves) == 0 {
		return nil
	}
	d, err := sealing.Draws(ctx, s.judged, sealing.Options{Seed: s.o.Seed})
	s.res.Drawn = d
	return err
}

// days works out the line's days.
func (s *solver) days(ctx context.Context) error {
	s.res.Days = make([]grade.DayResult, len(s.l.Days))
	return parallel(ctx, len(s.l.Days), func(i int) error {
		d, err := grade.SolveDay(ctx, grade.DayInput{Net: s.net, Day: i})
		if err != nil {
			return err
		}
		s.res.Days[i] = *d
		return nil
	})
}
