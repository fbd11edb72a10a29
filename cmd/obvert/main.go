// Obvert takes what an air-valve bench measured and a pipeline's long section,
// and works out what the two do to each other.
//
//	obvert study demo/ridge --out out
//
// Exit status: 0 where nothing fails, 1 where a finding fails, 2 where the input
// or the command cannot be used, 130 where it was stopped.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"obvert/deliver"
	"obvert/document"
)

// The product's version stands in every deliverable, the date in the manual.
const (
	version  = "0.1.0"
	released = "2026-11-29"
)

// The exit statuses.
const (
	exitFine    = 0
	exitFails   = 1   // a finding fails
	exitBad     = 2   // the input or the command line cannot be used
	exitStopped = 130 // stopped from the keyboard, as shells count it
)

// errFails ends a command whose answer was written and holds a finding that fails.
var errFails = errors.New("a finding fails")

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], newConsole(os.Stdout, os.Stderr))
	stop()
	os.Exit(status)
}

// run does what the arguments say and returns the exit status.
func run(ctx context.Context, args []string, c *console) int {
	root := rootCommand(c)
	root.SetArgs(args)
	root.SetOut(c.out)
	root.SetErr(c.err)
	c.in.done = ctx.Done()
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil {
		err = c.flush()
	}
	return report(c, cmd, err, asksJSON(args))
}

// report tells what went wrong, if anything, and chooses the exit status.
func report(c *console, cmd *cobra.Command, err error, asJSON bool) int {
	var faults document.Faults
	tell := func(faults document.Faults) int {
		if asJSON {
			_ = faultsJSON(c, faults)
			_ = c.flush()
		}
		return exitBad
	}
	switch {
	case err == nil:
		return exitFine
	case errors.Is(err, errFails):
		if err := c.flush(); err != nil {
			fmt.Fprintf(c.err, "obvert: %v\n", err)
			return exitBad
		}
		return exitFails
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(c.err, "obvert: stopped; nothing was written")
		return exitStopped
	case errors.As(err, &faults):
		_ = faults.Render(c.err, c.width)
		return tell(faults)
	}
	var use usageError
	hint := ""
	for line := range strings.Lines(wrap("obvert: "+err.Error(), c.width, 4)) {
		fmt.Fprint(c.err, line)
	}
	fmt.Fprintln(c.err)
	if errors.As(err, &use) || !cmd.HasParent() {
		hint = "see: " + cmd.CommandPath() + " --help"
		fmt.Fprintln(c.err, upper(hint))
	}
	return tell(asFault(err, hint))
}

// upper gives a clause its capital.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// usageError is a command line that cannot be used.
type usageError struct{ error }

// rootCommand is the whole command with its sub-commands.
func rootCommand(c *console) *cobra.Command {
	root := &cobra.Command{
		Use:   "obvert",
		Short: "What an air valve's sealing head does to a pipeline, and the pipeline to the valve",
		Long: `Obvert takes what an air-valve bench measured and a pipeline's long section, and
works out what the two do to each other: which valve is held drip-tight in which
operating case, what leaks where one is not, why, and what it costs.

A line is a folder with line.toml and its profiles: import makes one of a
survey, new makes one to start from. A rack is a folder of valve records. A run
is one bench run, a document with its series beside it; bench makes records of
it. check reads a line, study answers, compare sets types of valve side by side,
deliver writes what is handed over, explain says what a word of it means.

Exit status:
  0    nothing fails
  1    a finding fails
  2    the input or the command cannot be used; every fault is told at once
  130  stopped from the keyboard; nothing is left half written

Colour is used on a terminal only, never alone, and not with NO_COLOR set.
Local codes and a licensed engineer decide; Obvert does not.`,
		Example: `  obvert bench demo/bench/run-1.toml --to rack
  obvert import demo/survey/hill.csv --to mylines/first --yes
  obvert check demo/ridge
  obvert study demo/ridge --out out
  obvert compare demo/ridge "Alder 80" "Cedar 80"
  obvert deliver demo/ridge --out handed --date 2026-11-25
  obvert explain sealing.drips`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return cmd.Help()
		},
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(checkCommand(c), studyCommand(c), benchCommand(c), rackCommand(c), compareCommand(c), deliverCommand(c),
		newCommand(c), importCommand(c), explainCommand(c), unitsCommand(c), schemaCommand(c), completionCommand(c), versionCommand(c))
	root.AddCommand(topics()...)
	complete(root)
	return root
}

// unknownCommand names the commands nearest to what was typed.
func unknownCommand(cmd *cobra.Command, word string) error {
	text := fmt.Sprintf("there is no command %q", word)
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(word); len(near) > 0 {
		text += "; did you mean " + strings.Join(near, " or ") + "?"
	}
	return usageError{errors.New(text)}
}

// exactly asks for a number of arguments and says by name what is missing or too much.
func exactly(names ...string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) < len(names) {
			return usageError{fmt.Errorf("%s is missing", names[len(args)])}
		}
		if len(args) > len(names) {
			return usageError{fmt.Errorf("%q is one argument too many", args[len(names)])}
		}
		return nil
	}
}

func versionCommand(c *console) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Show the version",
		Long: `Version shows the version, which stands in every deliverable too. With --json it
shows also the version of the JSON's own form and the Go release that built it.`,
		Example:           "  obvert version\n  obvert version --json",
		Args:              exactly(),
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(*cobra.Command, []string) error {
			if asJSON {
				return deliver.Encode(c.out, struct {
					Version string
					Format  int `unit:"1"`
					Go      string
					System  string
				}{version, deliver.Format, runtime.Version(), runtime.GOOS + "/" + runtime.GOARCH})
			}
			_, err := io.WriteString(c.out, "obvert "+version+"\n")
			return err
		},
	}
	jsonFlag(cmd, &asJSON)
	return cmd
}
