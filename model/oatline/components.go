package oatline

import "math"

// A band is one absorption band of a pure component in a path of one millimetre.
type band struct {
	at     float64 // nm
	width  float64 // nm: standard deviation of a Gaussian, half width at half height of a Lorentzian
	height float64 // absorbance per millimetre at a mass share of 1
	tails  bool    // Lorentzian, with its wide tails
}

func (b band) value(nm float64) float64 {
	u := (nm - b.at) / b.width
	if b.tails {
		return b.height / (1 + u*u)
	}
	return b.height * math.Exp(-u*u/2)
}

// The components, in the order of a composition. warmth is no component: it is what one kelvin does to pure water.
const (
	water = iota
	oil
	starch
	maltose
	protein
	fibre
	warmth
	nBasis
	nComponents = warmth
)

// componentBands holds the bands of each component. Positions: Osborne, Fearn and Hindle 1993; Workman and Weyer 2012
// (regions, "about"). Water's heights are about those of liquid water in a millimetre; the rest are invented.
var componentBands = [nBasis][]band{
	water: {
		{at: 970, width: 22, height: 0.018},              // O–H, second overtone region
		{at: 1190, width: 28, height: 0.034},             // O–H, combination
		{at: 1412, width: 24, height: 0.40},              // O–H, first overtone, weakly bonded
		{at: 1453, width: 31, height: 0.82},              // O–H, first overtone
		{at: 1500, width: 45, height: 0.38},              // O–H, first overtone, strongly bonded
		{at: 1455, width: 60, height: 0.08, tails: true}, // the floor between the bands
		{at: 1935, width: 110, height: 2.0},              // O–H, combination: only its flank is in range
	},
	oil: {
		{at: 925, width: 12, height: 0.012},  // C–H, third overtone
		{at: 1165, width: 11, height: 0.018}, // C–H, second overtone
		{at: 1210, width: 14, height: 0.056}, // C–H, second overtone
		{at: 1392, width: 15, height: 0.022}, // C–H, combination
		{at: 1414, width: 12, height: 0.022}, // C–H, combination
		{at: 1725, width: 15, height: 0.42},  // CH₂, first overtone: its flank
		{at: 1765, width: 12, height: 0.28},  // CH₂, first overtone: its flank
	},
	starch: {
		{at: 990, width: 25, height: 0.006},
		{at: 1200, width: 22, height: 0.020}, // C–H, second overtone
		{at: 1440, width: 42, height: 0.30},  // O–H, first overtone
		{at: 1580, width: 48, height: 0.26},  // O–H, hydrogen-bonded
		{at: 1700, width: 25, height: 0.10},  // C–H, first overtone
	},
	maltose: {
		{at: 980, width: 22, height: 0.008},
		{at: 1195, width: 18, height: 0.024}, // C–H, second overtone
		{at: 1435, width: 27, height: 0.22},  // O–H, first overtone
		{at: 1490, width: 40, height: 0.26},
		{at: 1575, width: 42, height: 0.22},
		{at: 1690, width: 19, height: 0.12}, // C–H, first overtone
	},
	protein: {
		{at: 1035, width: 18, height: 0.007}, // N–H, second overtone
		{at: 1185, width: 18, height: 0.024}, // C–H, second overtone
		{at: 1500, width: 26, height: 0.22},  // N–H, first overtone
		{at: 1555, width: 22, height: 0.14},  // N–H, first overtone
		{at: 1697, width: 13, height: 0.16},  // CH₃, first overtone
	},
	fibre: {
		{at: 1215, width: 28, height: 0.018}, // C–H, second overtone
		{at: 1485, width: 38, height: 0.28},  // O–H, first overtone
		{at: 1590, width: 44, height: 0.22},  // O–H, hydrogen-bonded
		{at: 1705, width: 25, height: 0.08},
	},
	warmth: { // per kelvin: bonds loosen, so the weakly bonded side of each O–H band gains what the other loses
		{at: 960, width: 16, height: 0.00006},
		{at: 990, width: 20, height: -0.00005},
		{at: 1175, width: 22, height: 0.00010},
		{at: 1210, width: 26, height: -0.00009},
		{at: 1412, width: 22, height: 0.0040},
		{at: 1495, width: 42, height: -0.0026},
	},
}

// recipe is the usual product, in mass shares; water makes up the rest.
var recipe = [nComponents]float64{
	water: 1 - 0.030 - 0.020 - 0.045 - 0.010 - 0.008,
	oil:   0.030, starch: 0.020, maltose: 0.045, protein: 0.010, fibre: 0.008,
}

// The grid of the light, on which the absorbance of the product is worked out before the channels look at it.
// A step of 1 nm is fine enough for four-point interpolation: the narrowest band is 11 nm wide.
const (
	gridFrom = 880
	gridTo   = 1720
	gridLen  = gridTo - gridFrom + 1
)

// componentGrid returns the components' spectra on the grid of the light, gridLen×nBasis, one position a row.
func componentGrid() []float64 {
	g := make([]float64, gridLen*nBasis)
	for i := range gridLen {
		for c, bs := range componentBands {
			for _, b := range bs {
				g[i*nBasis+c] += b.value(gridFrom + float64(i))
			}
		}
	}
	return g
}
