package main

import (
	"reflect"
	"testing"

	"asusual/cmd/asusual/config"
)

// Options of watch go before the settings, one by one; an empty address shows no page.
func TestSettled(t *testing.T) {
	set := config.Live{Address: "0.0.0.0:8443", TokenFile: "t", Certificate: "c", Key: "k", Hosts: []string{"h"}}
	for _, c := range []struct {
		name    string
		options listening
		given   []string
		want    listening
	}{
		{"settings alone", listening{}, nil, listening{address: "0.0.0.0:8443", tokenFile: "t", cert: "c", key: "k", hosts: []string{"h"}}},
		{"another address", listening{address: "127.0.0.1:1"}, []string{"listen"},
			listening{address: "127.0.0.1:1", tokenFile: "t", cert: "c", key: "k", hosts: []string{"h"}}},
		{"all options", listening{"127.0.0.1:1", "T", "C", "K", []string{"H"}}, []string{"listen", "token-file", "certificate", "key", "host"},
			listening{"127.0.0.1:1", "T", "C", "K", []string{"H"}}},
		{"no page", listening{}, []string{"listen"}, listening{}},
	} {
		given := func(option string) bool {
			for _, g := range c.given {
				if g == option {
					return true
				}
			}
			return false
		}
		if got := c.options.settled(set, given); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: settled() = %+v, want %+v", c.name, got, c.want)
		}
	}
}
