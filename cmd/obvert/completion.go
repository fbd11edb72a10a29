package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"obvert/line"
	"obvert/physics/valve"
	"obvert/quantity"
)

// shells are those for which a completion script can be written.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func completionCommand(c *console) *cobra.Command {
	return &cobra.Command{
		Use:   "completion bash | zsh | fish | powershell",
		Short: "Print the script that completes commands in your shell",
		Long: `Completion prints a script for your shell. With it the Tab key completes
commands, flags, folders of lines, valves of the line's rack, units and the
names of findings.

  bash        source <(obvert completion bash)
  zsh         source <(obvert completion zsh)
  fish        obvert completion fish | source
  powershell  obvert completion powershell | Out-String | Invoke-Expression

That holds for the shell you are in. For good, put the same line at the end of
the file that your shell reads when it starts: ~/.bashrc; ~/.zshrc, after
compinit; ~/.config/fish/config.fish; the file that $PROFILE names.

Bash needs its package bash-completion; zsh needs
"autoload -U compinit; compinit" to have been run.`,
		Example: `  obvert completion bash
  obvert completion fish`,
		Args:              exactly("the shell's name"),
		ValidArgsFunction: first(func(string) []string { return shells }),
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(c.out, true)
			case "zsh":
				return root.GenZshCompletion(c.out)
			case "fish":
				return root.GenFishCompletion(c.out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(c.out)
			}
			text := fmt.Sprintf("there is no script for %q; there are scripts for %s", args[0], list(shells))
			if near, ok := quantity.Nearest(args[0], shells); ok {
				text = fmt.Sprintf("there is no script for %q; did you mean %s?", args[0], near)
			}
			return usageError{fmt.Errorf("%s", text)}
		},
	}
}

// completer offers what can stand in the place of the word that is being typed.
type completer = func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective)

// first completes the first argument only.
func first(words func(typed string) []string) completer {
	return func(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return words(typed), cobra.ShellCompDirectiveNoFileComp
	}
}

// completeLine offers folders that hold a line for the first argument; other folders where there are none.
func completeLine(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	if found := lineFolders(typed); len(found) > 0 {
		return found, cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveFilterDirs
}

// completeLineValves offers a line first and then types of its rack that were not yet named.
func completeLineValves(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return completeLine(cmd, args, typed)
	}
	rack, _ := loadRack(filepath.Join(args[0], "rack"))
	if f := cmd.Flags().Lookup("rack"); f != nil {
		more, _ := loadRack(f.Value.String())
		rack = append(rack, more...)
	}
	if f := cmd.Flags().Lookup("typical"); f != nil && f.Value.String() == "true" {
		rack = append(rack, valve.Typical()...)
	}
	return slices.DeleteFunc(valveNames(rack), func(s string) bool { return slices.Contains(args[1:], s) }), cobra.ShellCompDirectiveNoFileComp
}

// valveNames are the names of a rack's records.
func valveNames(rack []valve.Record) []string {
	var names []string
	for i := range rack {
		if !slices.Contains(names, rack[i].Name) {
			names = append(names, rack[i].Name)
		}
	}
	return names
}

// The search for lines goes so far and no further: a key was pressed and someone waits.
const (
	completeDepth   = 3    // folders below the one that was typed
	completeEntries = 2000 // entries looked at
)

// lineFolders finds folders with a line below what was typed, nearest first.
func lineFolders(typed string) []string {
	base, begin := filepath.Split(typed)
	left := completeEntries
	var found []string
	level := []string{base}
	for depth := 0; depth < completeDepth && len(level) > 0; depth++ {
		var next []string
		for _, dir := range level {
			d := dir
			if d == "" {
				d = "."
			}
			f, err := os.Open(d)
			if err != nil {
				continue
			}
			entries, err := f.ReadDir(max(left, 1))
			f.Close()
			left -= len(entries)
			if err != nil && err != io.EOF || left < 0 {
				continue
			}
			slices.SortFunc(entries, func(a, b os.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
			for _, e := range entries {
				if !e.IsDir() || strings.HasPrefix(e.Name(), ".") || depth == 0 && !strings.HasPrefix(e.Name(), begin) {
					continue
				}
				path := dir + e.Name()
				if info, err := os.Stat(filepath.Join(path, line.DocumentName)); err == nil && info.Mode().IsRegular() {
					found = append(found, filepath.ToSlash(path))
					continue
				}
				next = append(next, path+string(filepath.Separator))
			}
		}
		level = next
	}
	return found
}

// complete gives every command below the root what its usage line promises: lines for LINE, types of the line's rack for
// VALVE, folders for flags that take one, and no file names where no file is asked for.
func complete(cmd *cobra.Command) {
	for _, sub := range cmd.Commands() {
		complete(sub)
	}
	_, takes, _ := strings.Cut(cmd.Use, " ")
	if cmd.ValidArgsFunction == nil && len(cmd.ValidArgs) == 0 {
		switch {
		case strings.HasPrefix(takes, "LINE") && strings.Contains(takes, "VALVE"):
			cmd.ValidArgsFunction = completeLineValves
		case strings.HasPrefix(takes, "LINE"):
			cmd.ValidArgsFunction = completeLine
		case takes == "" && cmd.HasParent():
			cmd.ValidArgsFunction = cobra.NoFileCompletions
		}
	}
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if _, done := cmd.GetFlagCompletionFunc(f.Name); done {
			return
		}
		switch name, _ := pflag.UnquoteUsage(f); name {
		case "folder", "rack":
			_ = cmd.RegisterFlagCompletionFunc(f.Name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
				return nil, cobra.ShellCompDirectiveFilterDirs
			})
		case "file":
		case "":
		default:
			_ = cmd.RegisterFlagCompletionFunc(f.Name, cobra.NoFileCompletions)
		}
	})
}
