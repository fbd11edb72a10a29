package survey

import (
	"strings"

	"obvert/line"
)

// Question is something that neither files nor choices say.
type Question struct {
	Flag   string   // the flag that answers it, without dashes
	Text   string   // the question
	Words  []string // the answers there are; empty: a value
	Needed bool     // it is not assumed where nobody answers
}

// Questions are what is worth asking before a line is composed. Where the choices take no track there are none: Compose tells.
func Questions(readings []Reading, c Choices) []Question {
	p := &composer{readings: readings, c: c}
	if !p.checkChoices() || !p.choose() {
		return nil
	}
	var out []Question
	kind := p.track.LevelKind
	if kind == nil {
		kind = c.LevelKind
	}
	if kind == nil {
		out = append(out, Question{Flag: "level-kind", Text: "Of what are the levels? (obvert, invert, axis, ground)", Words: []string{"obvert", "invert", "axis", "ground"}, Needed: true})
	}
	if kind != nil && *kind == line.LevelGround && !c.HasCover {
		out = append(out, Question{Flag: "cover", Text: "How deep does the pipe's obvert lie under the ground? (such as 1.2 m)", Needed: true})
	}
	pipes, pumps := len(p.track.Pipes), 0
	for _, r := range readings {
		pipes += len(r.Pipes)
		pumps += len(r.Pumps)
	}
	if c.From == "" && pumps == 0 {
		out = append(out, Question{Flag: "from", Text: "What feeds the line, tank or station? (empty: as the levels ask for)", Words: []string{"tank", "station"}})
	}
	if c.To == "" {
		out = append(out, Question{Flag: "to-end", Text: "Where does it end, tank or outfall? (empty: tank)", Words: []string{"tank", "outfall"}})
	}
	if c.Flow == 0 && pumps == 0 && c.From != "tank" {
		out = append(out, Question{Flag: "flow", Text: "What is its design flow? (such as 20 L/s; empty: " + strings.TrimSpace(valueText(usualVelocity, "m/s", 1)) + " in the pipe)"})
	}
	if c.Pipe == "" && pipes == 0 {
		out = append(out, Question{Flag: "pipe", Text: "What pipe is it? (a standard size, such as " + usualSize + "; empty: one for the flow)"})
	}
	return out
}
