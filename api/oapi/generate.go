// Package oapi is the server side of the contract, generated from
// openapi.yaml. Do not edit it by hand: change the contract and run
// go generate ./...
package oapi

//go:generate go tool oapi-codegen -config server.cfg.yaml ../../openapi.yaml
