package sealing

import (
	"cmp"
	"fmt"
	"slices"
)

// Tap is a valve on a pool that stands and is not refilled.
type Tap struct {
	Name       string
	Seat       float64 `unit:"m"` // level above datum
	Sealing    float64 `unit:"m"` // head at the seat from which it shuts, rising; not used with NeverShuts
	LettingGo  float64 `unit:"m"` // head down to which it holds once shut
	NeverShuts bool
	Shut       bool // it is shut as the pool begins to fall
	Isolated   bool // its isolating valve is shut: it neither leaks nor lets go
}

// Barrier is the highest place of the pipe between two taps. The water parts there once its surface falls below the
// barrier, if air gets in; where none does, leave the barrier out (a body that hangs together falls together).
type Barrier struct {
	A, B  int     // indices of the taps on either side
	Level float64 `unit:"m"` // invert of the pipe there, above datum; at or below the lowest point of the pool where nothing parts
}

// StepKind says what happens to a falling pool.
type StepKind uint8

// What may happen.
const (
	Leaks   StepKind = iota // the tap drips from here
	Shuts                   // the head at the start shuts the tap
	LetsGo                  // a shut tap lets go and drips from here
	RunsDry                 // the water's surface reaches the tap's seat: it leaks no more
	Parts                   // the water parts at a barrier
)

// String is the word for a step.
func (k StepKind) String() string {
	return [...]string{"leaks", "shuts", "lets go", "runs dry", "parts"}[k]
}

// Step is one event of a falling pool.
type Step struct {
	Kind  StepKind
	Level float64 `unit:"m"` // of the water's surface
	Tap   int     // index of the tap, −1 with Parts
	At    int     // index of the barrier with Parts, else −1
}

// End is one body of water as it comes to rest.
type End struct {
	Level   float64 `unit:"m"` // of its surface
	Governs int     // the tap at whose seat it ends; −1 where it did not fall, or parted off at a barrier and rests there
	Taps    []int   // on the body, rising
}

// Exchange is what a perfectly tight valve in one place would change.
type Exchange struct {
	Tap     int
	Level   float64 `unit:"m"` // where the lowest body would end instead
	Gain    float64 `unit:"m"` // that level less the one without the exchange
	Governs int     // the tap that would set it, −1 for none
	Changes bool    // any body ends elsewhere
}

// Rest is where a leaking pool ends.
type Rest struct {
	Level     float64 `unit:"m"` // of the lowest body at rest
	Governs   int     // the tap whose seat sets Level, −1 where nothing leaks
	Leaking   []int   // taps that leak on the way, in the order in which they begin
	Steps     []Step  // by falling level, body by body
	Ends      []End   // every body at rest, lowest first
	Exchanges []Exchange
}

// RestLevel says where a pool at a level (m) ends that loses water through its valves and gains none. As its surface
// falls, valves that were shut hold down to their letting-go head and then leak; a valve leaks only while
// 0 < head < the head that shuts it; so each body ends at its lowest leaking seat, and no valve drains below its own.
// Without barriers all taps hang on one body. With barriers these must link all taps to one another.
//
// For each valve that leaks it also says what exchanging it for one that is always tight would change.
func RestLevel(level float64, taps []Tap, barriers []Barrier) (Rest, error) {
	if err := checkRest(level, taps, barriers); err != nil {
		return Rest{}, err
	}
	rest := fall(level, taps, barriers)
	for _, i := range slices.Sorted(slices.Values(rest.Leaking)) {
		better := slices.Clone(taps)
		better[i].Isolated = true
		with := fall(level, better, barriers)
		rest.Exchanges = append(rest.Exchanges, Exchange{
			Tap: i, Level: with.Level, Gain: with.Level - rest.Level, Governs: with.Governs,
			Changes: !slices.EqualFunc(rest.Ends, with.Ends, func(a, b End) bool {
				return a.Level == b.Level && slices.Equal(a.Taps, b.Taps)
			}),
		})
	}
	return rest, nil
}

func checkRest(level float64, taps []Tap, barriers []Barrier) error {
	c := checker{}
	c.Finite("level of the pool (m)", level)
	for i := range taps {
		t := &taps[i]
		who := fmt.Sprintf("tap %q", t.Name)
		c.Finite(who+", level of the seat (m)", t.Seat)
		if !t.NeverShuts {
			c.NotNegative(who+", sealing head (m)", t.Sealing)
			if t.LettingGo > t.Sealing {
				c.Fault("%s lets go at %g m, above the %g m at which it shuts: look whether the two are exchanged", who, t.LettingGo, t.Sealing)
			}
		}
		c.NotNegative(who+", letting-go head (m)", t.LettingGo)
	}
	for i, b := range barriers {
		if b.A < 0 || b.A >= len(taps) || b.B < 0 || b.B >= len(taps) {
			c.Fault("barrier %d stands between taps %d and %d of %d: give indices from 0 to %d", i, b.A, b.B, len(taps), len(taps)-1)
		}
		c.Finite(fmt.Sprintf("barrier %d, level (m)", i), b.Level)
	}
	if err := c.Err(); err != nil || len(barriers) == 0 {
		return err
	}
	if bodies := linked(all(len(taps)), taps, barriers, func(Barrier) bool { return true }); len(bodies) > 1 {
		c.Fault("the barriers leave the taps in %d bodies that nothing links: give them one by one, or link them", len(bodies))
	}
	return c.Err()
}

// fall lets the pool fall.
func fall(level float64, taps []Tap, barriers []Barrier) Rest {
	f := faller{taps: taps, barriers: barriers, open: make([]bool, len(taps)), cut: make([]bool, len(barriers))}
	f.rest = Rest{Level: level, Governs: -1}
	for i := range taps {
		f.begin(i, level)
	}
	f.body(all(len(taps)), level)
	slices.SortStableFunc(f.rest.Ends, func(a, b End) int { return cmp.Compare(a.Level, b.Level) })
	f.rest.Level, f.rest.Governs = f.rest.Ends[0].Level, f.rest.Ends[0].Governs
	return f.rest
}

// faller is a pool on its way down.
type faller struct {
	taps     []Tap
	barriers []Barrier
	open     []bool // by tap: it leaks, or did until its seat ran dry
	cut      []bool // by barrier: the water has parted there
	rest     Rest
}

func (f *faller) step(kind StepKind, level float64, tap, at int) {
	f.rest.Steps = append(f.rest.Steps, Step{Kind: kind, Level: level, Tap: tap, At: at})
}

// begin finds what a tap does at the first level.
func (f *faller) begin(i int, level float64) {
	t := &f.taps[i]
	head := level - t.Seat
	switch {
	case t.Isolated || head <= 0:
	case t.Shut && head >= t.LettingGo:
	case !t.NeverShuts && head >= t.Sealing:
		if !t.Shut {
			f.step(Shuts, level, i, -1)
		}
	default:
		f.leak(i, level, t.Shut)
	}
}

func (f *faller) leak(i int, level float64, wasShut bool) {
	f.open[i] = true
	f.rest.Leaking = append(f.rest.Leaking, i)
	kind := Leaks
	if wasShut {
		kind = LetsGo
	}
	f.step(kind, level, i, -1)
}

// event is a level that the falling surface may pass. At one level seats run dry first, then valves let go, then water
// parts: the latter two happen only as the surface falls below.
type event struct {
	kind  StepKind // RunsDry, LetsGo or Parts
	level float64
	of    int // tap or barrier
}

// events are all that may happen to a body at or below a level, by falling level.
func (f *faller) events(on []int, level float64) []event {
	in := make([]bool, len(f.taps))
	list := make([]event, 0, 2*len(on)+len(f.barriers))
	for _, i := range on {
		in[i] = true
		t := &f.taps[i]
		if t.Isolated || t.Seat >= level {
			continue
		}
		list = append(list, event{RunsDry, t.Seat, i})
		if !f.open[i] {
			list = append(list, event{LetsGo, min(level, t.Seat+t.LettingGo), i})
		}
	}
	for n, b := range f.barriers {
		if !f.cut[n] && in[b.A] {
			list = append(list, event{Parts, min(level, b.Level), n})
		}
	}
	slices.SortStableFunc(list, func(a, b event) int {
		if a.level != b.level {
			return cmp.Compare(b.level, a.level)
		}
		return cmp.Compare(a.kind.order(), b.kind.order())
	})
	return list
}

// order is the order of events at one level.
func (k StepKind) order() int {
	switch k {
	case RunsDry:
		return 0
	case LetsGo:
		return 1
	}
	return 2
}

// body follows one body of water from a level to its rest.
func (f *faller) body(on []int, level float64) {
	leaking := 0
	for _, i := range on {
		if f.open[i] && f.taps[i].Seat < level {
			leaking++
		}
	}
	governs := -1
	list := f.events(on, level)
	for n, e := range list {
		if leaking == 0 {
			break
		}
		level = e.level
		switch e.kind {
		case RunsDry:
			if f.open[e.of] {
				f.step(RunsDry, level, e.of, -1)
				governs = e.of
				leaking--
			}
		case LetsGo:
			if f.taps[e.of].Seat < level {
				f.leak(e.of, level, true)
				leaking++
			}
		case Parts:
			for _, e := range list[n:] {
				if e.kind == Parts && e.level == level {
					f.cut[e.of] = true
					f.step(Parts, level, -1, e.of)
				}
			}
			for _, part := range linked(on, f.taps, f.barriers, func(b Barrier) bool { return b.Level < level }) {
				f.body(part, level)
			}
			return
		}
	}
	f.rest.Ends = append(f.rest.Ends, End{Level: level, Governs: governs, Taps: on})
}

// linked sorts taps into those that barriers of the given kind link to one another, or into one body where there are no
// barriers at all.
func linked(on []int, taps []Tap, barriers []Barrier, holds func(Barrier) bool) [][]int {
	if len(on) == 0 || len(barriers) == 0 {
		return [][]int{on}
	}
	root := make([]int, len(taps))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, b := range barriers {
		if holds(b) {
			root[find(b.A)] = find(b.B)
		}
	}
	var bodies [][]int
	at := make(map[int]int)
	for _, i := range on {
		r := find(i)
		n, ok := at[r]
		if !ok {
			n = len(bodies)
			at[r] = n
			bodies = append(bodies, nil)
		}
		bodies[n] = append(bodies[n], i)
	}
	return bodies
}

// all is the indices 0 … n−1.
func all(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}
