// Package stretch says what a spectrum has left over on stretches of the axis, once the model has taken out what usual
// production does.
//
// The Q residual is one figure for all channels: a faint absorber that stands on a few of them drowns in the noise of the
// others. So the residual is also looked at through shapes, each what a band of some width at one place of the axis does
// to a spectrum, through the pretreatment: a bank of matched filters (Turin, An introduction to matched filters, IRE
// Transactions on Information Theory 6, 1960). It knows no limit: limits learns those, and no place outside the axis.
package stretch
