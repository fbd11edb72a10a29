package deliver

import (
	"bytes"
	"fmt"

	"obvert/study"
	"obvert/survey"
)

// geometryLandXML is the line's geometry as LandXML, without a plan, which no line has.
func geometryLandXML(r *study.Result, o Options) ([]File, error) {
	runs := withProfile(r)
	if len(runs) == 0 {
		return nil, nil
	}
	s := NewStamp(r, o)
	var b bytes.Buffer
	if err := survey.WriteLandXML(&b, r.Line, s.Program, s.Date, runs...); err != nil {
		return nil, fmt.Errorf("deliver: LandXML: %w", err)
	}
	return []File{{Data: b.Bytes()}}, nil
}

// profilesCSV are the profiles of the runs, each a table that is read again to the same points.
func profilesCSV(r *study.Result, _ Options) ([]File, error) {
	var out []File
	taken := map[string]bool{}
	for _, i := range withProfile(r) {
		run := &r.Line.Runs[i]
		var b bytes.Buffer
		if err := survey.WriteProfileCSV(&b, run); err != nil {
			return nil, fmt.Errorf("deliver: profile of %s: %w", run.Name, err)
		}
		stem := survey.FileStem(run.Name)
		name := stem
		for n := 2; taken[name]; n++ {
			name = fmt.Sprintf("%s-%d", stem, n)
		}
		taken[name] = true
		out = append(out, File{Name: "profile-" + name + ".csv", For: "run " + run.Name + ".", Data: b.Bytes()})
	}
	return out, nil
}

// withProfile are the runs that have a profile, by index.
func withProfile(r *study.Result) (out []int) {
	for i := range r.Line.Runs {
		if len(r.Line.Runs[i].Points) > 1 {
			out = append(out, i)
		}
	}
	return out
}
