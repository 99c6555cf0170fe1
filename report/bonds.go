package report

import (
	"asusual/model/spectrum"
	"asusual/report/chart"
)

// bonds are the stretches, in nanometres, in which kinds of bonds absorb near-infrared light, from memory after Osborne,
// Fearn and Hindle 1993, Practical NIR Spectroscopy, chapter 2, and Workman and Weyer 2012, Practical Guide and Spectral
// Atlas for Interpretive Near-Infrared Spectroscopy. Single positions are given ±10 nm. They say where to look: bands
// are wide and overlap, and nothing here says what a spectrum contains.
var bonds = []chart.Region{
	{From: 960, To: 980, Name: "O–H"}, {From: 1180, To: 1200, Name: "O–H"}, {From: 1400, To: 1600, Name: "O–H"}, // 2nd overtone; combination; 1st overtone with sugars
	{From: 1920, To: 1950, Name: "O–H"}, {From: 2070, To: 2100, Name: "O–H"}, // combinations
	{From: 900, To: 930, Name: "C–H"}, {From: 1150, To: 1215, Name: "C–H"}, {From: 1680, To: 1780, Name: "C–H"}, // 3rd, 2nd, 1st overtone
	{From: 2270, To: 2360, Name: "C–H"}, {From: 2460, To: 2480, Name: "C–H"}, // combinations
	{From: 1020, To: 1050, Name: "N–H"}, {From: 1480, To: 1570, Name: "N–H"}, // 2nd, 1st overtone
	{From: 1970, To: 2060, Name: "N–H"}, {From: 2170, To: 2190, Name: "N–H"}, // combinations
}

// Bonds returns the published stretches in which kinds of bonds absorb, in the unit of an axis, as a hint on a picture of
// spectra. A bare channel index has none.
func Bonds(unit spectrum.Unit) []chart.Region {
	var all []chart.Region
	for _, b := range bonds {
		switch unit {
		case spectrum.Nanometre:
		case spectrum.Micrometre:
			b.From, b.To = b.From/1e3, b.To/1e3
		case spectrum.ReciprocalCentimetre:
			b.From, b.To = 1e7/b.To, 1e7/b.From
		default:
			return nil
		}
		all = append(all, b)
	}
	return all
}
