package main

import (
	"testing"

	"obvert/engine/sealing"
	"obvert/study"
)

// A count takes its verb, and a leak that two decimals would hide is not called none.
func TestComparedTexts(t *testing.T) {
	valves := func(states ...sealing.State) (all []sealing.ValveResult) {
		for _, s := range states {
			all = append(all, sealing.ValveResult{Cells: []sealing.Cell{{State: s}}})
		}
		return all
	}
	rest := func(perDay float64, known bool) []study.Rest { return []study.Rest{{PerDay: perDay, Known: known}} }
	found := func(s ...study.Severity) (all []study.Finding) {
		for _, x := range s {
			all = append(all, study.Finding{Severity: x})
		}
		return all
	}
	for _, c := range []struct{ got, want string }{
		{tally(valves(sealing.Drips, sealing.Tight), 0), "1\u00a0tight, 1\u00a0drips"},
		{tally(valves(sealing.Drips, sealing.Drips), 0), "2\u00a0drip"},
		{tally(nil, 0), "–"},
		{leakText(nil), "none"},
		{leakText(rest(0.001, true)), "below 0.01\u00a0m³"},
		{leakText(rest(1.25, false)), "1.25\u00a0m³ or more"},
		{leakText(rest(0, false)), "not known"},
		{failText(found(study.Fails, study.Doubtful, study.Doubtful)), "1 fails, 2 doubtful"},
		{failText(found(study.Fails, study.Fails)), "2 fail"},
		{failText(nil), "none"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
