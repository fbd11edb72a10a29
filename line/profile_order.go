package line

import (
	"math"
	"slices"
	"sort"
	"strings"

	"obvert/document"
)

// sameLevel is the difference in m below which two levels, or two chainages, are one: less than any survey resolves.
const sameLevel = 1e-6

// order brings the rows into the order of rising chainage: turns a file that runs the other
// way, sorts small backsteps and reports larger ones.
func (p *profileReader) order(rows []surveyRow) ([]surveyRow, bool) {
	turned := runsBack(rows)
	if turned {
		p.faults.Remark("profile.turned", int(rows[0].line), "the file runs downstream to upstream",
			"chainage falls from "+chainageText(rows[0].s)+" to "+chainageText(rows[len(rows)-1].s)+"; the rows were turned", "")
		slices.Reverse(rows)
	}
	if slices.IsSortedFunc(rows, byChainage) {
		return rows, turned
	}
	rows = p.backsteps(rows)
	slices.SortStableFunc(rows, byChainage)
	return rows, turned
}

func byChainage(a, b surveyRow) int {
	switch {
	case a.s < b.s:
		return -1
	case a.s > b.s:
		return 1
	}
	return 0
}

// runsBack reports that chainage falls from row to row more often than it rises; in a tie, that it falls on the whole.
func runsBack(rows []surveyRow) bool {
	falls, rises := 0, 0
	for i := 1; i < len(rows); i++ {
		switch {
		case rows[i].s < rows[i-1].s:
			falls++
		case rows[i].s > rows[i-1].s:
			rises++
		}
	}
	if falls == rises {
		return rows[len(rows)-1].s < rows[0].s
	}
	return falls > rises
}

// backsteps finds the rows out of order, and returns those that are close enough to their place to be sorted.
// Out of order are those outside the longest series of rows whose chainage never falls, so that
// one wrong row is one fault and not one for each that follows. Neighbours out of order are told together.
func (p *profileReader) backsteps(rows []surveyRow) []surveyRow {
	kept := longestRising(rows)
	limit := p.options.MaxBackstep
	small, largest, first := 0, 0.0, 0
	good := make([]surveyRow, 0, len(rows))
	for i := 0; i < len(rows); {
		if kept[i] {
			good = append(good, rows[i])
			i++
			continue
		}
		j := i
		for j < len(rows) && !kept[j] {
			j++
		}
		size := outOfPlace(rows, i, j)
		if size <= limit {
			if small == 0 {
				first = int(rows[i].line)
			}
			small += j - i
			largest = max(largest, size)
			good = append(good, rows[i:j]...)
		} else {
			p.largeBackstep(rows, i, j, size)
		}
		i = j
	}
	if small > 0 {
		p.faults.Remark("profile.backstep", first, counted(small, "row", "rows")+" out of order by up to "+metres(largest),
			"sorted by chainage, since backsteps up to "+metres(limit)+" are", "")
	}
	return good
}

// outOfPlace is how far, in m, the rows i to j−1 stand at most from the stretch between their neighbours in order.
func outOfPlace(rows []surveyRow, i, j int) float64 {
	size := 0.0
	for _, row := range rows[i:j] {
		if i > 0 {
			size = max(size, rows[i-1].s-row.s)
		}
		if j < len(rows) {
			size = max(size, row.s-rows[j].s)
		}
	}
	return size
}

// largeBackstep tells of the rows i to j−1 that stand far out of order.
func (p *profileReader) largeBackstep(rows []surveyRow, i, j int, size float64) {
	p.faults.repeated("backstep", int(rows[i].line), document.FaultSeverity, func() document.Fault {
		f := document.Fault{Key: columnKey(p.header.columns[p.columns.chainage].text),
			What: "chainage " + chainageText(rows[i].s) + " is out of order by " + metres(size),
			Hint: "put the chainage right, or allow it with " + keyBackstep + " if such steps are meant; " + p.allowed() + " is allowed now"}
		if j > i+1 {
			low, high := int(min(rows[i].line, rows[j-1].line)), int(max(rows[i].line, rows[j-1].line))
			f.What = "chainages " + chainageText(rows[i].s) + " to " + chainageText(rows[j-1].s) + " in " + lines(low, high) +
				" are out of order by up to " + metres(size)
		}
		var place []string
		if i > 0 {
			place = append(place, "after "+chainageText(rows[i-1].s)+" in "+lineOf(rows[i-1]))
		}
		if j < len(rows) {
			place = append(place, "before "+chainageText(rows[j].s)+" in "+lineOf(rows[j]))
		}
		f.Understood = "in the file it stands " + strings.Join(place, " and ")
		if j > i+1 {
			f.Understood = "in the file they stand " + strings.Join(place, " and ")
		}
		return f
	})
}

// allowed is the largest backstep that is sorted, in words.
func (p *profileReader) allowed() string {
	if p.options.MaxBackstep < 0 {
		return "none"
	}
	return metres(p.options.MaxBackstep)
}

// longestRising marks a longest series of rows whose chainage never falls, by patience sorting:
// n log n (M. L. Fredman, Discrete Mathematics 11 (1975) 29–35).
func longestRising(rows []surveyRow) []bool {
	var tails []int // row that ends the series of each length with the smallest chainage
	before := make([]int, len(rows))
	for i, row := range rows {
		k := sort.Search(len(tails), func(k int) bool { return rows[tails[k]].s > row.s })
		before[i] = -1
		if k > 0 {
			before[i] = tails[k-1]
		}
		if k == len(tails) {
			tails = append(tails, i)
		} else {
			tails[k] = i
		}
	}
	kept := make([]bool, len(rows))
	for i := tails[len(tails)-1]; i >= 0; i = before[i] {
		kept[i] = true
	}
	return kept
}

// dropRepeats leaves out rows that say again what the row before says, and remarks on vertical steps.
func (p *profileReader) dropRepeats(rows []surveyRow) []surveyRow {
	out := rows[:1]
	steps, firstStep := 0, 0
	for _, row := range rows[1:] {
		last := &out[len(out)-1]
		if row.s-last.s > sameLevel || row.s < last.s {
			out = append(out, row)
			continue
		}
		row.s = last.s
		if math.Abs(row.z-last.z) <= sameLevel {
			p.drop("repeated point", int(row.line))
			if !last.hasG && row.hasG {
				last.g, last.hasG = row.g, true
			}
			continue
		}
		if steps == 0 {
			firstStep = int(row.line)
		}
		steps++
		out = append(out, row)
	}
	if r := p.dropped["repeated point"]; r != nil {
		p.faults.Remark("profile.repeated", r.First, counted(r.Count, "row", "rows")+" with the chainage and level of the row before", "left out, "+lines(r.First, r.Last), "")
		p.describeDropped()
	}
	if steps > 0 {
		p.faults.Remark("profile.step", firstStep, counted(steps, "vertical step", "vertical steps"), "the same chainage with another level is kept as a step of the pipe", "")
	}
	return out
}
