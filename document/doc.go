// Package document reads a TOML file as a tree that remembers where everything
// stands, so that every fault of a file is told in one pass with its line,
// column and key, what was understood and what to write instead.
//
// A caller parses the bytes, reads the keys it knows through [Table]'s readers,
// reports faults of its own with [Table.Report], calls [Table.Finish] on the
// root, and then looks at the faults:
//
//	doc, faults := document.Parse("line.toml", data)
//	for _, run := range doc.Root().List("run", true) {
//		bore, ok := run.Quantity("bore", quantity.Length, true)
//		…
//	}
//	doc.Root().Finish()
//	faults = append(faults, doc.Faults()...)
//	if err := faults.Err(); err != nil { … }
//
// A reader that meets a fault reports it and returns ok = false with the zero
// value; it never stops the others. Keys nobody asked for are faults, each with
// the nearest key that was asked for. [Doc.Set] changes one value and leaves
// every other byte, comments and order included, as it was.
//
// # Sources
//
// The TOML 1.0 specification (toml.io, 2021). The syntax is read by the walker of
// go-toml/v2; duplicate keys and tables, types, units and positions are judged
// here. Nearest spellings: F. J. Damerau, Communications of the ACM 7 (1964) 171.
//
// # Range of validity
//
// A document of up to 4 MB of valid UTF-8 (a byte-order mark is allowed), keys of
// up to 32 parts, lists and inline tables up to 32 deep. Lines are counted from 1,
// columns in characters from 1, tables of a list from 1 ("run[2]").
package document
