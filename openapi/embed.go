// Package openapi holds the contract of the service, written by hand in openapi.yaml, and what can be read from it
// at run time ([Operations]). What is generated from it lies in the packages server and client.
package openapi

import _ "embed"

// YAML is the contract as it is served.
//
//go:embed openapi.yaml
var YAML []byte
