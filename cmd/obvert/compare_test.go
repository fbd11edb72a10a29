package main

import (
	"testing"

	"obvert/study"
)

// A count takes its verb, and a figure that its decimals would hide is not called nothing.
func TestComparedTexts(t *testing.T) {
	measure := func(v float64, known, least bool) study.Measure {
		return study.Measure{Value: v, Known: known, Least: least}
	}
	for _, c := range []struct{ got, want string }{
		{tally(study.StateCount{Drips: 1, Tight: 1}), "1\u00a0tight, 1\u00a0drips"},
		{tally(study.StateCount{Drips: 2}), "2\u00a0drip"},
		{tally(study.StateCount{}), "–"},
		{measureText(measure(0, true, false), in("m³", 2)), "0"},
		{measureText(measure(0.001, true, false), in("m³", 2)), "<\u00a00.01"},
		{measureText(measure(1.25, false, true), in("m³", 2)), "≥\u00a01.25"},
		{measureText(measure(1234.5, true, false), in("m³", 2)), "1,235"},
		{measureText(measure(1e-4, true, false), in("L/h", 1)), "360"},
		{measureText(measure(5, false, false), whole), "–"},
		{measureText(measure(0.999, false, true), percentText), ">\u00a099\u00a0%"},
		{airText(&study.ComparedType{}), "none"},
		{airText(&study.ComparedType{ShortIn: 2, AirUnknown: 1}), "2 in, 1 not known"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
