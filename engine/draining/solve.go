package draining

// history is what a result remembers of the way, to tell the state at any moment.
type history struct{}
