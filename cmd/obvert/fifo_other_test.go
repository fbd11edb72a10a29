//go:build !unix

package main

import "github.com/rogpeppe/go-internal/testscript"

// fifo leaves the script: there are no pipes among files here.
func fifo(ts *testscript.TestScript, neg bool, args []string) { ts.Fatalf("no pipes here") }
