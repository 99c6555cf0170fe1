package finding

// Kinds that tell why a spectrum lies outside.
const (
	AboveT2 Kind = "above-t2" // values: T², limit
	AboveQ  Kind = "above-q"  // values: Q residual, limit
)
