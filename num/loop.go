package num

import (
	"fmt"
	"math"
)

// Status says how an iteration ended.
type Status uint8

// The ways an iteration ends.
const (
	NotRun    Status = iota // no step was made
	Converged               // the stop test was met
	Limit                   // the limit of steps was reached first
	Stalled                 // steps no longer brought it nearer
	Cancelled               // the caller asked to stop
	NoBracket               // no change of sign where a root was looked for
	NotFinite               // a step gave NaN or an infinity
)

var statusText = [...]string{
	NotRun:    "not run",
	Converged: "converged",
	Limit:     "limit of steps reached",
	Stalled:   "stalled",
	Cancelled: "cancelled",
	NoBracket: "no change of sign",
	NotFinite: "not finite",
}

// String returns the status in plain words.
func (s Status) String() string {
	if int(s) < len(statusText) {
		return statusText[s]
	}
	return fmt.Sprintf("status %d", uint8(s))
}

// MarshalText writes the status in plain words.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Outcome says how an iteration ended and how good its last step was.
type Outcome struct {
	Status     Status  // how it ended
	Iterations int     `unit:"1"` // steps made
	Change     float64 `unit:"1"` // last change, as a multiple of the allowed one; -1: none seen
	Residual   float64 `unit:"1"` // last residual, as a multiple of the allowed one, or a share where it was not tested (see Loop.ChangeAlone); -1: none seen
}

// OK reports whether the iteration converged.
func (o Outcome) OK() bool { return o.Status == Converged }

// String describes the outcome in one line.
func (o Outcome) String() string {
	return fmt.Sprintf("%v after %d steps (last change %.3g, residual %.3g of what is allowed)",
		o.Status, o.Iterations, o.Change, o.Residual)
}

// Err returns nil for a converged outcome and otherwise an error that names
// what was iterated.
func (o Outcome) Err(what string) error {
	if o.OK() {
		return nil
	}
	return fmt.Errorf("%s: %v", what, o)
}

// DefaultLimit is the number of steps a Loop allows where none is given.
const DefaultLimit = 100

// Loop owns an iteration's stop test, its limit and its diagnostic.
// The zero value is ready: at most [DefaultLimit] steps, both measures tested.
//
//	loop := num.Loop{Limit: 60}
//	for loop.Next() {
//		…
//		loop.Seen(largestChange/allowedChange, residual/allowedResidual)
//	}
//	if out := loop.Outcome(); !out.OK() { … }
//
// A step that calls neither Seen nor Stop counts as not finished.
// A Loop serves one iteration and is not safe for concurrent use.
type Loop struct {
	Limit       int             // most steps; 0: DefaultLimit
	Patience    int             // steps without getting nearer before it is Stalled; 0: never
	ChangeAlone bool            // stop on the change alone; the residual is recorded, not tested
	Done        <-chan struct{} // closed to cancel, as context.Context's Done; nil: never

	out     Outcome
	started bool
	ended   bool
	best    float64 // least measure met so far
	waited  int     // steps since best
}

// Next reports whether another step is to be made, and counts it.
func (l *Loop) Next() bool {
	if !l.started {
		l.started = true
		l.out.Change, l.out.Residual = -1, -1
		l.best = math.Inf(1)
	}
	if l.ended {
		return false
	}
	select {
	case <-l.Done:
		return l.end(Cancelled)
	default:
	}
	limit := l.Limit
	if limit <= 0 {
		limit = DefaultLimit
	}
	if l.out.Iterations >= limit {
		return l.end(Limit)
	}
	l.out.Iterations++
	return true
}

// Seen records a step: its change and the residual after it, each as a
// multiple of what is allowed. The loop has converged when neither exceeds 1.
func (l *Loop) Seen(change, residual float64) {
	change, residual = math.Abs(change), math.Abs(residual)
	worst := max(change, residual)
	if l.ChangeAlone {
		worst = change
	}
	switch {
	case math.IsNaN(change+residual) || math.IsInf(change+residual, 0):
		l.end(NotFinite) // keeps the last finite figures
		return
	case worst <= 1:
		l.end(Converged)
	case worst < l.best:
		l.best, l.waited = worst, 0
	default:
		l.waited++
		if l.Patience > 0 && l.waited >= l.Patience {
			l.end(Stalled)
		}
	}
	l.out.Change, l.out.Residual = change, residual
}

// Stop ends the loop with a status of the caller's choice, for an end that
// the two measures cannot tell: an exact hit, a dead end.
func (l *Loop) Stop(s Status) { l.end(s) }

// Outcome returns how the loop ended; before its end, how it stands.
func (l *Loop) Outcome() Outcome { return l.out }

// end fixes the status and returns false, so that Next can return it.
func (l *Loop) end(s Status) bool {
	l.ended = true
	l.out.Status = s
	return false
}
