// Package pages fills the pages of report from what a reference and a history hold, and puts them into the folder of the
// reports. It judges nothing and says nothing of its own: numbers go from one form into another.
package pages
