// Package limits learns from known-good runs, each placed against a reference that was learned from the others, where
// the border of usual lies, and the thresholds over time whose false episodes are no more than promised. It does not
// decide when an episode begins or ends: verdict does.
//
// Learn takes the tracks of the held-out runs and gives, in this order: the border of T² and Q for single spectra, the
// scale of the features, and for each group of features (the scores; log Q; what is left over on stretches of the axis)
// the thresholds of what is asked over time: how far a fast, a middle and a slow memory stand from usual, and whether
// the run has left the level that it had, at any moment so far, and stays away (a Leap).
package limits
