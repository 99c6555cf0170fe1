package finding

// Kinds that tell why a spectrum lies outside.
const (
	AboveT2 Kind = "above-t2" // values: T², limit
	AboveQ  Kind = "above-q"  // values: Q residual, limit
)

// Kinds that tell why a spectrum cannot be judged.
const (
	NotFinite     Kind = "not-finite"     // values: channel, from 1
	Flat          Kind = "flat"           // values: the value of every channel
	Saturated     Kind = "saturated"      // values: channels at the top, the value they share
	OffAxis       Kind = "off-axis"       // about: why it does not fit the axis of the reference
	NotAbsorbance Kind = "not-absorbance" // about: why no absorbance could be made of it
	NotPretreated Kind = "not-pretreated" // about: why the pretreatment refused it
)
