// Package oatline makes the spectra of an invented oat-drink line, for the demo, for tests and for simulations.
// It is not a model of any real product or instrument, and nothing that judges spectra may import it.
//
// The way of one spectrum:
//
//  1. Composition. Mass shares of water, oil, starch, maltose, protein and fibre; each lot has offsets of its own, and
//     within a stretch they wander as AR(1) series with one time constant.
//  2. Beer–Lambert law. A(λ) = ℓ·m Σ cⱼ εⱼ(λ): ℓ the path in millimetres, m a multiplicative scatter near 1, εⱼ the
//     sum of Gaussian and Lorentzian bands in components.go. Warmth moves water's first overtone as it does in nature.
//  3. Scatter. A turbidity that falls with the wavelength, τ(λ/1,200 nm)^−n, an offset and a slope are added.
//  4. The instrument. Channels look at λ + δ, where δ is the error of the wavelength axis; noise follows from the light
//     that is left, so it is larger at the detector's edges and on top of strong bands.
//
// The same settings and the same stretch give the same values, and any spectrum of a stretch can be made by itself.
// Band positions are about those of Osborne, Fearn and Hindle, Practical NIR Spectroscopy (1993), and of Workman and
// Weyer, Practical Guide and Spectral Atlas for Interpretive Near-Infrared Spectroscopy (2012); heights, widths,
// compositions and all variances are invented, of a size that such a line could have.
package oatline
