// Package notices writes the page of third-party notices: every module that the command links, on any of the systems it is
// built for, with its licence in full. Only its test runs it.
package notices

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// Targets are the systems for which binaries are made; Makefile has the same.
var Targets = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

// Module is a module that is linked.
type Module struct {
	Path, Version string
	Licence       string   // by its SPDX name: "BSD-3-Clause"
	Files         []string // names of the files with its licence and notices
	Texts         []string // what stands in them
}

// Linked finds the modules of a package's dependencies on all targets, by path, without that of the package itself. The
// module cache must hold them, as it does after a build. A module without a licence file is an error.
func Linked(dir, pkg string) ([]Module, error) {
	found := map[string]Module{}
	for _, target := range Targets {
		system, machine, _ := strings.Cut(target, "/")
		cmd := exec.Command("go", "list", "-deps", "-json=Module", pkg)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH="+machine, "CGO_ENABLED=0")
		var messages bytes.Buffer
		cmd.Stderr = &messages
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("notices: go list for %s: %w: %s", target, err, messages.String())
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct {
				Module *struct {
					Path, Version, Dir string
					Main               bool
				}
			}
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			m := p.Module
			if m == nil || m.Main || found[m.Path].Path != "" {
				continue
			}
			x, err := read(m.Path, m.Version, m.Dir)
			if err != nil {
				return nil, err
			}
			found[m.Path] = x
		}
	}
	var all []Module
	for _, m := range found {
		all = append(all, m)
	}
	slices.SortFunc(all, func(a, b Module) int { return strings.Compare(a.Path, b.Path) })
	return all, nil
}

// read takes the licence files of a module's folder.
func read(path, version, dir string) (Module, error) {
	m := Module{Path: path, Version: version}
	entries, err := os.ReadDir(dir) // by name
	if err != nil {
		return m, err
	}
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		if e.IsDir() || !strings.HasPrefix(name, "LICEN") && !strings.HasPrefix(name, "COPYING") && !strings.HasPrefix(name, "NOTICE") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return m, err
		}
		m.Files = append(m.Files, e.Name())
		m.Texts = append(m.Texts, strings.TrimSpace(strings.ReplaceAll(string(text), "\r\n", "\n")))
		if m.Licence == "" {
			m.Licence = Kind(string(text))
		}
	}
	if m.Licence == "" {
		return m, fmt.Errorf("notices: %s %s: no licence that is known was found", path, version)
	}
	return m, nil
}

// Kind tells a licence by its words, as its SPDX name; empty where they are those of none that is known here.
func Kind(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	has := func(s string) bool { return strings.Contains(text, s) }
	switch {
	case has("Apache License") && has("Version 2.0"):
		return "Apache-2.0"
	case has("Mozilla Public License"):
		return "MPL-2.0"
	case has("GENERAL PUBLIC LICENSE"):
		return "GPL"
	case has("Redistribution and use in source and binary forms") && (has("Neither the name") || has("names of its contributors") || has("name of the author")):
		return "BSD-3-Clause"
	case has("Redistribution and use in source and binary forms"):
		return "BSD-2-Clause"
	case has("Permission is hereby granted, free of charge"):
		return "MIT"
	}
	return ""
}

// Page writes the notices. The Go release is not named: its licence has been the same since it was published.
func Page(all []Module, goLicence, fontLicence string) []byte {
	var b bytes.Buffer
	b.WriteString(`# Third-party notices

What is linked into the command ` + "`obvert`" + `, on any system it is built for, with its licence. Written by ` +
		"`go test ./internal/notices -update`" + `; a test holds it to what is linked.

| module | version | licence |
|---|---|---|
`)
	b.WriteString("| The Go standard library and runtime | that of the build | BSD-3-Clause |\n| Source Sans 3, the report's typeface | | OFL-1.1 |\n")
	for _, m := range all {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", m.Path, m.Version, m.Licence)
	}
	text := func(head, s string) {
		fmt.Fprintf(&b, "\n## %s\n\n```text\n%s\n```\n", head, strings.TrimSpace(strings.ReplaceAll(s, "```", "'''")))
	}
	text("The Go standard library and runtime", goLicence)
	text("Source Sans 3", fontLicence)
	for _, m := range all {
		for i, s := range m.Texts {
			head := m.Path
			if len(m.Texts) > 1 {
				head += ", " + m.Files[i]
			}
			text(head, s)
		}
	}
	return b.Bytes()
}
