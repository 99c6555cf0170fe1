// Package finding holds what a person should know beside an answer: a reason, a doubt, a limit of what was learned.
// It does not stop anything; what stops an act is an error.
//
// A Finding is a kind and its particulars, so that it can be counted, kept and said in more than one language.
// The English words of every kind stand in one table, words.go.
package finding
