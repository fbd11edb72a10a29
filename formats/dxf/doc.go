// Package dxf writes and reads drawings in the Drawing Interchange Format, by its public reference.
//
// # Written
//
// [Drawing] is written as ASCII DXF R12 (AC1009): the oldest dialect that every reader of drawings still opens. HEADER with
// extents, limits and units; TABLES with line types, layers and text styles; BLOCKS; ENTITIES. Handles are optional in R12
// and are left out. Texts are in the code page the header names, Windows-1252, which readers of R12 expect; characters beyond
// it stand as \U+XXXX, degree, plus-minus and diameter as %%d, %%p and %%c. R12 has no line weights: a pen goes by its colour.
//
// # Read
//
// [Read] takes LINE, POLYLINE with its vertices, LWPOLYLINE, TEXT and MTEXT of the model space from ASCII DXF R12 to R2018,
// with $INSUNITS; what else there is it counts by kind and layer as left. Binary DXF and DWG are recognised and refused.
// Nothing here knows what a drawing shows.
package dxf
