// Package study runs the whole chain on one line: the grade line of every case, where valves are wanted, whether each is held shut, what a leak
// drains and what sealing head costs; and writes what follows as findings, worst first. It alone knows all engines and hands numbers
// from one to the next.
package study
