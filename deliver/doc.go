// Package deliver turns the answer of a study into what is handed over: one self-contained HTML report with its drawings,
// the same content as JSON, and the schedule of air valves as CSV.
//
// # Rules of the drawings
//
// The answer comes before any table. One chainage axis runs from the long section down through every band. Words stand on
// the thing itself. A state is always a word, a shape and a colour, so that black and white reads the same. One scale per
// drawing, stated. Ink goes to water, pipe and state; everything else is a hairline.
//
// # Rules of the labels
//
// Nothing collides and nothing is cut, for any line:
//
//   - every text has its width measured from the font's own advances ([TextWidth]), so that a label is a box before it is drawn;
//   - valves get columns: their own chainage where they stand far enough apart, else pushed aside as little as possible in
//     one dimension ([Spread]), and the hairline from the valve to its column slants in a fan above the bands;
//   - a line with more valves than columns is cut into sheets, as a draughtsman would, with a key of the whole line before them;
//   - in the long section a valve's label stands on a stem in free sky; where no free place is left for one of them, all of them
//     go to a rail above the drawing;
//   - labels along a line, dimensions and notes try their places in a stated order and take the first free one; what finds none
//     is set in rows above the drawing, which grows by those rows;
//   - long names wrap; a valve whose name is too long for its column is numbered, and the schedule joins number and name.
//
// # Chapters
//
// After the schedule follow the chapters in which the engines show how they came to their answer: the stopped line in time,
// drained on purpose and by a burst, filling and starting again, air in and out, air carried or left behind, a day; after the
// costs, the ways out side by side, and how sure all of it is. A chapter is made of parts: a drawing, its table, and a note. Each
// drawing is a small struct of its own (strip, airs, legs, day, ways, tornado, shares, odds) that knows no engine; the files
// answers….go fill them from the results. Of many valves, legs or ways a drawing shows the worst dozen and says how many more
// are in its table, which is then printed too. A strip draws only the stretch of the line that changes, where the rest stands still.
//
// # Reproducible
//
// The output depends on the study, the options and this package's version alone: no clock, no random number, no map order.
// Coordinates are written in tenths of a pixel and numbers in JSON with ten significant digits.
package deliver
