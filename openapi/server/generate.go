// Package server is the contract as Gin routes and models, generated from openapi.yaml.
package server

//go:generate go tool oapi-codegen -config config.yaml ../openapi.yaml
