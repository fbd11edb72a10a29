package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"obvert/bench"
	"obvert/deliver"
	"obvert/physics/air"
	"obvert/physics/valve"
	"obvert/quantity"
)

func rackCommand(c *console) *cobra.Command {
	var dir string
	var asJSON bool
	records := func() ([]valve.Record, error) {
		if dir == "" {
			return valve.Typical(), nil
		}
		all, faults := loadRack(dir)
		if err := faults.Err(); err != nil {
			return nil, err
		}
		_ = faults.Render(c.err, c.width)
		return all, nil
	}
	list := &cobra.Command{
		Use:   "list",
		Short: "List the valves of a rack",
		Long: `List shows the valves of a rack, one to a line: nominal diameter, the heads at
which each shuts and lets go, rated pressure, and where its figures come from (a
bench run, or typical of a class).`,
		Example: "  obvert rack list\n  obvert rack list --rack demo/rack",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usageError{fmt.Errorf("%q is one argument too many; a rack is named with --rack", args[0])}
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error {
			all, err := records()
			if err != nil {
				return err
			}
			if asJSON {
				return deliver.Encode(c.out, struct{ Rack []valve.Record }{all})
			}
			c.rack(all)
			return nil
		},
	}
	show := &cobra.Command{
		Use:   "show NAME",
		Short: "Show one valve's record",
		Long: `Show prints one record in full: thresholds with their uncertainty, leak curve,
curves of the large orifice for air in and out, small orifice, anti-slam stage,
rating, connection and price, each as far as it is known.`,
		Example: `  obvert rack show "Cedar 80" --rack demo/rack
  obvert rack show "Cedar 80" --rack demo/rack --json`,
		Args: exactly("NAME, the valve's name on the rack,"),
		ValidArgsFunction: first(func(string) []string {
			all, err := records()
			if err != nil {
				return nil
			}
			return valveNames(all)
		}),
		RunE: func(_ *cobra.Command, args []string) error {
			all, err := records()
			if err != nil {
				return err
			}
			name, err := onRack(all, args)
			if err != nil {
				return err
			}
			for i := range all {
				if all[i].Name != name[0] {
					continue
				}
				if asJSON {
					return deliver.Encode(c.out, all[i])
				}
				c.record(&all[i])
			}
			return nil
		},
	}
	cmd := &cobra.Command{
		Use:   "rack",
		Short: "List or show the valves of a rack",
		Long: `Rack lists the valves of a rack, or shows one record. Without --rack these are
the generic classes that come with Obvert: typical figures, common practice
without a source, no particular valve. Heads are metres of water at 15 °C under
standard gravity; the record itself holds pressures.`,
		Example: `  obvert rack list
  obvert rack list --rack demo/rack
  obvert rack show "Cedar 80" --rack demo/rack`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return list.RunE(cmd, args)
		},
	}
	cmd.PersistentFlags().StringVar(&dir, "rack", "", "`folder` of valve records; else the generic classes")
	cmd.PersistentFlags().BoolVar(&asJSON, "json", false, "print as JSON instead of text")
	cmd.AddCommand(list, show)
	return cmd
}

// plainDensity is that of water at 15 °C, by which a rack's pressures are shown as heads, in kg/m³. A line shows them
// for its own water.
const plainDensity = 999.1

// rack writes a row for each record.
func (c *console) rack(all []valve.Record) {
	if len(all) == 0 {
		c.line("The rack is empty.")
		return
	}
	t := table{head: []string{"valve", "nominal", "shuts, m", "lets go, m", "rated", "origin"}}
	for i := range all {
		r := &all[i]
		origin := r.Origin
		if r.Typical {
			origin = "typical"
		}
		t.rows = append(t.rows, []string{r.Name, nominalText(r), thresholdText(r.Sealing, plainDensity, air.StandardGravity),
			thresholdText(r.LettingGo, plainDensity, air.StandardGravity), ratingText(r), origin})
	}
	t.print(c)
	c.line(wrap("Heads at the seat, in metres of water at 15 °C. ± is the expanded uncertainty of the valve's mean (95 %).", c.width, 0))
}

// record writes one record in full: what was measured first, then the text as it is kept.
func (c *console) record(r *valve.Record) {
	c.line(c.paint(strong, r.Name))
	if r.Description != "" {
		c.line(wrap(r.Description, c.width, 0))
	}
	c.line(wrap(atHead("shuts at", "sealing head", r.Sealing)+"; "+atHead("lets go at", "letting-go head", r.LettingGo)+
		"; heads at the seat, in water at 15 °C", c.width, 0))
	if r.Source != "" {
		c.line("from ", r.Source)
	}
	c.line()
	c.out.Write(valve.Format(*r))
}

// atHead says at which head a threshold lies, or why there is none.
func atHead(verb, head string, t valve.Threshold) string {
	if !t.HasValue() {
		return head + " " + t.Bound.String()
	}
	return verb + " " + thresholdText(t, plainDensity, air.StandardGravity) + "\u00a0m"
}

// coverage is the probability that an expanded uncertainty stands for (JCGM 100:2008, G.6.6: k = 2 for many degrees of
// freedom).
const coverage = 0.9545

// thresholdText is a threshold in metres of a water, with its bound or uncertainty.
func thresholdText(t valve.Threshold, density, gravity float64) string {
	k := bench.CoverageFactor(coverage, t.Freedom)
	return comparedHead(t.Bound, t.Head(density, gravity), k*t.Uncertainty/(density*gravity))
}

func nominalText(r *valve.Record) string {
	if r.NominalDiameter == 0 {
		return "–"
	}
	return quantity.Format(r.NominalDiameter, "mm", 0)
}

func ratingText(r *valve.Record) string {
	if r.Rating == 0 {
		return "–"
	}
	return strings.TrimSuffix(quantity.Format(r.Rating, "bar", 1), "(g)")
}

// fileName is a record's name as a file's: small letters, figures and hyphens.
func fileName(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := strings.Trim(b.String(), "-")
	if s == "" {
		s = "valve"
	}
	return s + ".toml"
}
