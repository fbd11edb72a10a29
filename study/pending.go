package study

import (
	"context"
	"errors"

	"obvert/engine/draining"
	"obvert/engine/grade"
	"obvert/engine/refilling"
)

var errPending = errors.New("not solved yet")

func solveDraining(context.Context, draining.Input) (draining.Result, error) {
	return draining.Result{}, nil
}
func solveRefilling(context.Context, refilling.Input) (refilling.Result, error) {
	return refilling.Result{}, errPending
}
func largestStart(context.Context, refilling.Input) (refilling.Start, error) {
	return refilling.Start{}, errPending
}
func solveDay(context.Context, grade.DayInput) (*grade.DayResult, error) {
	return &grade.DayResult{}, nil
}
func stateAt(d *draining.Result, _ float64) draining.State { return d.End }
