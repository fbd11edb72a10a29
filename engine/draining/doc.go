// Package draining follows the stopped line in time: through valves that leak, through open scours, through a burst.
package draining
