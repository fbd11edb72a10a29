// Package line is the model that a user writes: nodes, runs with their profiles, equipment, air valves on tappings,
// operating cases, practice and prices. [Read] reads the folder, checks it and reports all faults in one pass; [Schema] is
// the published form of the document; [ReadProfile] reads a profile in the dialects people have them.
//
// # The folder
//
// line.toml in its root, read through package document: every dimensional value is a text with its unit. Profiles are named
// by the runs, valve records lie under rack/. The package takes an fs.FS and opens nothing else; only plain files, and none
// over the stated limit. The keys are explained one by one in docs/methods/line.md.
//
// # What is derived
//
// Air pressure by ISO 2533 from the altitude, water by IAPWS at its temperature, gravity by GRS 80 from the latitude, pipes
// by their standards, walls by their material, the obvert from invert or axis by each section's own bore. Cases and events
// that nobody wrote are made. What was not said is recorded as an [Assumption] with a stable id.
//
// # Checks on the whole
//
// Names that resolve, sections without gap, nodes with the runs their kind needs, a water level in every part, and water
// that can flow: a run through which water could pass from a source to an outlet, but for its check valves, is a fault.
// Both are searches of the graph; routes are cut from the tree of shortest ways (E. W. Dijkstra, Numerische Mathematik 1
// (1959) 269).
//
// # Range of validity
//
// Clean water in full and part-full pressure pipelines; levels −1000 to 10,000 m, altitude −430 to 6000 m, water 0 to 60 °C.
// Every figure of a line that was read is finite and inside its limits.
package line
