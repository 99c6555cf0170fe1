// Package limits learns from known-good runs, each placed against a reference that was learned from the others, where
// the border of usual lies, and the thresholds over time whose false episodes are no more than promised. It does not
// decide when an episode begins or ends: verdict does.
//
// Learn takes the tracks of the held-out runs and gives, in this order: the border of T² and Q for single spectra, the
// scale of the features, and for each question over time (about the scores, and about log Q; of a fast, a middle and a slow memory;
// where it stands, and how far it has moved within the run) the covariance of the answer and its threshold.
package limits
