//go:build unix

package main

import (
	"syscall"

	"github.com/rogpeppe/go-internal/testscript"
)

// fifo NAME puts a pipe in a file's place.
func fifo(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: fifo NAME")
	}
	ts.Check(syscall.Mkfifo(ts.MkAbs(args[0]), 0o644))
}
