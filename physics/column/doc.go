// Package column follows rigid columns of water and the air between them through a network of pipes.
package column
