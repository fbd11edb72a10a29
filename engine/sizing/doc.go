// Package sizing finds how much air each place of a line must take in and let out, how big an opening that needs, and
// whether the valve placed there, or which of the rack, gives it.
package sizing
