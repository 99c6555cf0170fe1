//go:build !packing

package main

import "github.com/spf13/cobra"

// packing is empty: what a package holds beside the program is written by the build that cmd/release makes, with the tag
// "packing". The program itself does not carry what writes manual pages.
func (a *app) packing() []*cobra.Command { return nil }
