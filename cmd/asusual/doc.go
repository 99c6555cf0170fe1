// Command asusual says whether a production line still looks as usual, from its near-infrared spectra.
package main
