package study

import (
	"fmt"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"obvert/physics/valve"
	"obvert/quantity"
)

const (
	boundMeasured = valve.Measured
	boundLessThan = valve.LessThan
)

// Cautions that stand beside what they concern; common practice, no source.
const (
	cautionPit      = "A flooded pit over drinking water is a way in for what stands in it when the line is sucked empty. Test the pit's air before anyone enters: it is a confined space, and vermin live there."
	cautionStart    = "Refill slowly and vent at low pressure: air under pressure stores energy, and a column that meets another slams. Never pressure-test with air."
	cautionVacuum   = "A vacuum can collapse a thin pipe and draw dirty water in through joints. Check the pipe's wall against it."
	cautionPump     = "Isolate and lock off pumps before work on the line."
	cautionPressure = "Do not run above a rating. Isolate and drain before work."
)

// find writes the findings and puts them in order.
func (s *solver) find() {
	s.findSealing()
	s.findSiting()
	s.findStill()
	s.findGrade()
	s.findPressure()
	s.findDraining()
	s.findRefilling()
	s.findSizing()
	s.findCarried()
	s.findWays()
	s.findCosts()
	s.findDays()
	s.findChances()
	f := s.res.Findings
	sort.SliceStable(f, func(i, j int) bool {
		if f[i].Severity != f[j].Severity {
			return f[i].Severity < f[j].Severity
		}
		return rank(f[i].ID) < rank(f[j].ID)
	})
}

// rank orders findings of one severity: what concerns people first, then water, then money.
func rank(id string) int {
	order := []string{"grade.no-flow", "grade.vapour", "pressure.rating", "valve.rating", "grade.suction-starved", "grade.npsh", "grade.pump-shut-in", "grade.pump-cannot-lift", "refilling.slam", "refilling.early", "refilling.not-full", "draining.scour", "siting.air-bound", "sealing.drips", "sizing.too-small", "siting.missing", "draining", "sealing.doubtful", "grade.suction", "sealing.unknown", "siting.displaced", "sealing.open", "sealing.empty", "costing.ways", "costing", "refilling", "sizing", "day", "sealing.any", "siting"}
	for i, p := range order {
		if strings.HasPrefix(id, p) {
			return i
		}
	}
	return len(order)
}

func m2(v float64) string { return quantity.Format(v, "m", 2) }

// m0 is a head that no one knows to the decimetre.
func m0(v float64) string { return quantity.Format(v, "m", 0) }

// signed is a margin with its sign.
func signed(v float64) string {
	if v > 0 {
		return "+" + quantity.Format(v, "m", 2)
	}
	return quantity.Format(v, "m", 2)
}

func ch(x float64) string { return quantity.FormatChainage(x) }

func (s *solver) typeName(record int) string {
	if record < 0 {
		return ""
	}
	return s.l.Rack[record].Name
}

// add completes a finding about a placed valve.
func (s *solver) add(i int, cases []int, f Finding) {
	v := &s.res.Sealing.Valves[i]
	f.Run, f.Chainage, f.Valve, f.Type, f.Cases = v.Run, v.Chainage, v.Name, s.typeName(v.Record), cases
	s.res.Findings = append(s.res.Findings, f)
}

func percent(p float64) string {
	switch {
	case p < 0.01:
		return "under 1\u00a0%"
	case p > 0.99:
		return "over 99\u00a0%"
	}
	return fmt.Sprintf("%.0f\u00a0%%", 100*p)
}

// mostNamed is how many places one finding names before it counts the rest.
const mostNamed = 8

// upper gives a clause its capital.
func upper(t string) string {
	r, n := utf8.DecodeRuneInString(t)
	if n == 0 {
		return t
	}
	return string(unicode.ToUpper(r)) + t[n:]
}

// sentence gives a clause its capital and its full stop.
func sentence(t string) string {
	if t == "" {
		return t
	}
	t = upper(t)
	if !strings.HasSuffix(t, ".") {
		t += "."
	}
	return t
}

// quoted is a case's name as it stands in a sentence.
func (s *solver) quoted(kase int) string { return "“" + s.l.Cases[kase].Name + "”" }
