// Package line is the model that a user writes: nodes, runs with their profiles, equipment, air valves on tappings,
// operating cases, practice and prices. It reads the folder, checks it and reports all faults in one pass.
package line
