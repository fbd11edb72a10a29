package main

import "github.com/spf13/cobra"

// topics are the pages of help that belong to no command.
func topics() []*cobra.Command {
	all := []*cobra.Command{
		{
			Use:   "exit-status",
			Short: "What the command's exit status says",
			Long: `The exit status says how a command ended:

  0    nothing fails
  1    the answer was written, and a finding in it fails
  2    the input or the command line cannot be used, and nothing was written
  130  stopped from the keyboard, and nothing is left half written

Doubtful findings and warnings do not change it. With --no-fail, study ends with
0 where only a finding fails, so that a script goes on.

What cannot be used is told on the messages, every fault at once, each with its
file, line and key. With --json the same faults come on the output too, as
{"faults": […]}.`,
		},
		{
			Use:   "line",
			Short: "What a line's folder holds",
			Long: `A line is a folder:

  line.toml    the document: site, nodes, runs, equipment, air valves,
               cases, events, practice, prices
  *.csv        the profiles that its runs name: chainage and level, in
               any usual dialect
  rack/        records of valve types, one .toml each; --rack joins others
  bench/       bench runs that stand beside the answer

Every figure with a dimension is text with its unit, such as "450 mm"; a bare
number is refused. Levels are above one datum; a profile says of what: obvert,
invert, axis or ground. What the document does not say is assumed and listed, or
refused where nothing can be assumed.

obvert new makes a folder to start from, obvert check reads one, and obvert
schema line prints the schema by which an editor completes line.toml.`,
		},
		{
			Use:   "json",
			Short: "The form of the output as JSON",
			Long: `With --json a command prints JSON in place of text. The same input gives the
same bytes.

Keys are small letters with underscores, and end in the unit of their figure:
head_m, flow_m3_s, sealing_pa. Figures are SI with ten significant digits. What
is not known is said by a key of its own or by null, never by a number that
stands for nothing. Kinds are words, such as "tight" and "more than".

A study's result has a key format. It changes only when a key changes its
meaning or goes. obvert schema result prints its JSON Schema.

Faults have one form in every command:

  {"faults": [{"file": "", "line": 0, "column": 0, "key": "", "id": "",
    "severity": "fault", "what": "", "understood": "", "hint": ""}]}

Lines and columns count from 1; 0 stands for none.`,
		},
	}
	for _, t := range all {
		t.SetHelpTemplate("{{.Long}}\n")
	}
	return all
}
