// Package valve holds an air valve as a record of what was measured on it.
package valve
