// Package client is a typed client of the service, generated from openapi.yaml. The pages for browsers are left out.
//
// A patch leaves out what is nil. To clear a field, send the merge patch with null in it by the method that takes a
// body, such as PatchShotWithBody.
package client

//go:generate go tool oapi-codegen -config config.yaml ../openapi.yaml
