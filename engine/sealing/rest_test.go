package sealing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func rest(t testing.TB, level float64, taps []Tap, barriers ...Barrier) Rest {
	t.Helper()
	r, err := RestLevel(level, taps, barriers)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The summit's valve and one below it both drip. The pool ends at the low seat: a better valve on the summit changes
// nothing, one at the low place everything.
func TestExchangeTheLowOne(t *testing.T) {
	taps := []Tap{
		{Name: "summit", Seat: 50, Sealing: 3, LettingGo: 2.5},
		{Name: "low", Seat: 48.5, Sealing: 4, LettingGo: 3.5},
		{Name: "valley", Seat: 30, Sealing: 0.5, LettingGo: 0.3},
	}
	r := rest(t, 51, taps)
	if r.Level != 48.5 || r.Governs != 1 || !slices.Equal(r.Leaking, []int{0, 1}) {
		t.Fatalf("ends at %g by tap %d, leaking %v", r.Level, r.Governs, r.Leaking)
	}
	if x := r.Exchanges[0]; x.Tap != 0 || x.Changes || x.Gain != 0 {
		t.Errorf("the summit's valve exchanged: %+v", x)
	}
	if x := r.Exchanges[1]; x.Tap != 1 || !x.Changes || x.Level != 50 || x.Gain != 1.5 || x.Governs != 0 {
		t.Errorf("the low valve exchanged: %+v", x)
	}
}

// A valve that holds lets go as the level falls, and then drains the pool below the one that began.
func TestOneLetsGoAfterTheOther(t *testing.T) {
	taps := []Tap{
		{Name: "first", Seat: 10, Sealing: 3, LettingGo: 2},
		{Name: "second", Seat: 8, Sealing: 3.5, LettingGo: 2.5, Shut: true},
		{Name: "third", Seat: 5, Sealing: 3.2, LettingGo: 2.9, Shut: true},
		{Name: "fourth", Seat: 4, Sealing: 3, LettingGo: 0.5, Shut: true},
	}
	r := rest(t, 12, taps)
	var story []string
	for _, s := range r.Steps {
		story = append(story, fmt.Sprintf("%s %s %g", taps[s.Tap].Name, s.Kind, s.Level))
	}
	want := "first leaks 12, second lets go 10.5, first runs dry 10, second runs dry 8"
	if got := strings.Join(story, ", "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if r.Level != 8 || r.Governs != 1 {
		t.Errorf("ends at %g by %d; the third lets go below 7.9 only", r.Level, r.Governs)
	}
	// With the first exchanged nothing begins at all: the pool stands.
	if x := r.Exchanges[0]; x.Level != 12 || x.Governs != -1 || !x.Changes {
		t.Errorf("the first exchanged: %+v", x)
	}
	// With the second exchanged it stops at the first's seat.
	if x := r.Exchanges[1]; x.Level != 10 || x.Governs != 0 {
		t.Errorf("the second exchanged: %+v", x)
	}
	// A history: the same third valve, not shut before, drips from the start and takes the fourth along.
	taps[2].Shut = false
	taps[2].Sealing = 8
	if r := rest(t, 12, taps); r.Level != 4.5-0.5 && r.Level != 5 {
		t.Errorf("ends at %g", r.Level)
	} else if r.Governs != 2 {
		t.Errorf("governed by %d, want the third at 5: the fourth holds down to 4.5", r.Governs)
	}
}

// A valve never drains below its own seat; with nothing leaking the pool stands; a head that shuts a valve shuts it.
func TestRestEnds(t *testing.T) {
	if r := rest(t, 10, nil); r.Level != 10 || r.Governs != -1 || len(r.Ends) != 1 {
		t.Errorf("no taps: %+v", r)
	}
	if r := rest(t, 10, []Tap{{Seat: 10, Sealing: 1}}); r.Level != 10 || len(r.Leaking) != 0 {
		t.Errorf("surface at the seat: %+v", r)
	}
	if r := rest(t, 10, []Tap{{Seat: 7, Sealing: 3, LettingGo: 1}}); r.Level != 10 || r.Steps[0].Kind != Shuts {
		t.Errorf("just shut: %+v", r)
	}
	if r := rest(t, 10, []Tap{{Seat: 2, NeverShuts: true}}); r.Level != 2 || r.Governs != 0 {
		t.Errorf("never shuts: %+v", r)
	}
	if r := rest(t, 10, []Tap{{Seat: 2, NeverShuts: true, Isolated: true}}); r.Level != 10 {
		t.Errorf("isolated: %+v", r)
	}
}

// Where air parts the water at a crest, the low valve beyond it drains its own side only.
func TestPartsAtACrest(t *testing.T) {
	taps := []Tap{
		{Name: "left", Seat: 6, Sealing: 2, LettingGo: 1, Shut: true},
		{Name: "right", Seat: 3, NeverShuts: true},
	}
	r := rest(t, 10, taps, Barrier{A: 0, B: 1, Level: 8.5})
	if len(r.Ends) != 2 || r.Ends[0].Level != 3 || r.Ends[0].Governs != 1 || r.Ends[1].Level != 8.5 || r.Ends[1].Governs != -1 {
		t.Errorf("crest at 8.5: %+v", r.Ends)
	}
	// A lower crest: on the way down the left valve has let go at 7, and its side ends at its seat.
	r = rest(t, 10, taps, Barrier{A: 0, B: 1, Level: 6.5})
	if len(r.Ends) != 2 || r.Ends[0].Level != 3 || r.Ends[1].Level != 6 || r.Ends[1].Governs != 0 {
		t.Errorf("crest at 6.5: %+v", r.Ends)
	}
	// Without a barrier they hang together, and the low one governs all.
	if r = rest(t, 10, taps); len(r.Ends) != 1 || r.Level != 3 {
		t.Errorf("no crest: %+v", r.Ends)
	}
}

func TestRestFaults(t *testing.T) {
	_, err := RestLevel(math.NaN(), []Tap{{Name: "a", Seat: math.Inf(1), Sealing: 1, LettingGo: 2}, {Name: "b", LettingGo: -1}}, []Barrier{{A: 0, B: 5}})
	for _, want := range []string{"level of the pool", `"a", level of the seat`, "lets go at 2", `"b", letting-go`, "barrier 0"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in %v", want, err)
		}
	}
	if _, err := RestLevel(1, make([]Tap, 3), []Barrier{{A: 0, B: 1}}); err == nil || !strings.Contains(err.Error(), "2 bodies") {
		t.Errorf("unlinked taps: %v", err)
	}
}

// A brute-force fall in millimetres comes to the same level, and the rest is at the start or at a leaking seat.
func TestRestAgainstSmallSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		taps := make([]Tap, n)
		mm := func(name string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(t, name) }
		seats, seals, gos := make([]int, n), make([]int, n), make([]int, n)
		for i := range taps {
			seats[i], seals[i] = mm("seat", 0, 10), mm("sealing", 0, 6)
			gos[i] = mm("letting go", 0, seals[i])
			taps[i] = Tap{Seat: float64(seats[i]), Sealing: float64(seals[i]), LettingGo: float64(gos[i]), Shut: rapid.Bool().Draw(t, "shut")}
		}
		start := mm("level", 0, 12)
		r, err := RestLevel(float64(start), taps, nil)
		if err != nil {
			t.Fatal(err)
		}
		const sub = 4 // steps of a quarter; all events lie on whole numbers, so a valve is looked at just below them
		level := start * sub
		shut := make([]bool, n)
		for i := range taps {
			head := start - seats[i]
			shut[i] = taps[i].Shut && head >= gos[i] || head >= seals[i]
		}
		for {
			leaking := false
			for i := range taps {
				leaking = leaking || !shut[i] && level > seats[i]*sub
			}
			if !leaking {
				break
			}
			for i := range taps { // on the way to just below this level
				if level-1 < (seats[i]+gos[i])*sub {
					shut[i] = false
				}
			}
			level--
		}
		if want := float64(level) / sub; r.Level != want {
			t.Fatalf("ends at %g, by small steps at %g: %+v", r.Level, want, taps)
		}
		if r.Governs >= 0 && r.Level != taps[r.Governs].Seat {
			t.Fatalf("governed by %d at %g but ends at %g", r.Governs, taps[r.Governs].Seat, r.Level)
		}
		for _, x := range r.Exchanges {
			if x.Gain < 0 {
				t.Fatalf("a tight valve lowers the pool: %+v", x)
			}
		}
	})
}

func BenchmarkRestLevel(b *testing.B) {
	taps := make([]Tap, 200)
	for i := range taps {
		taps[i] = Tap{Seat: 50 - 10*math.Abs(math.Sin(float64(i))), Sealing: 3, LettingGo: 2, Shut: i%2 == 0}
	}
	for b.Loop() {
		if _, err := RestLevel(52, taps, nil); err != nil {
			b.Fatal(err)
		}
	}
}
