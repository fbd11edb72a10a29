package notices

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the page of notices")

const page = "../../docs/third-party.md"

// allowed are the licences under which a linked module may come.
var allowed = []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "MIT"}

// TestPage fails where the page is not what is linked.
func TestPage(t *testing.T) {
	all, err := Linked("../..", "./cmd/obvert")
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 5 {
		t.Fatalf("only %d modules are linked", len(all))
	}
	for _, m := range all {
		if !slices.Contains(allowed, m.Licence) {
			t.Errorf("%s comes under %s", m.Path, m.Licence)
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	goLicence, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "LICENSE"))
	if err != nil {
		t.Skip("the Go release has no LICENSE beside it: " + err.Error())
	}
	font, err := os.ReadFile("../../deliver/fonts/OFL.txt")
	if err != nil {
		t.Fatal(err)
	}
	want := Page(all, string(goLicence), string(font))
	if *update {
		if err := os.WriteFile(page, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := os.ReadFile(page); err != nil || !bytes.Equal(got, want) {
		t.Errorf("docs/third-party.md is out of date: run go test ./internal/notices -update")
	}
}

// TestTargets holds the targets to those of the Makefile.
func TestTargets(t *testing.T) {
	data, err := os.ReadFile("../../Makefile")
	if err != nil {
		t.Fatal(err)
	}
	if want := "TARGETS := " + strings.Join(Targets, " ") + "\n"; !strings.Contains(string(data), want) {
		t.Errorf("Makefile lacks %q", want)
	}
}

// TestKind tells licences by their words.
func TestKind(t *testing.T) {
	for text, want := range map[string]string{
		"Apache License\n Version 2.0, January 2004": "Apache-2.0", "Permission is hereby\ngranted, free of charge": "MIT",
		"Redistribution and use in source and binary forms … Neither the name of": "BSD-3-Clause",
		"Redistribution and use in source and binary forms":                       "BSD-2-Clause",
		"GNU GENERAL PUBLIC LICENSE":                                              "GPL", "All rights reserved.": "",
	} {
		if got := Kind(text); got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}
