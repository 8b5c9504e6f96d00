// Package authored reads the files that people write: strictly, with every mistake at its line, its repair where there is
// only one, and the JSON Schema of what may be written. It knows no drill and no rule: what a file holds is said by the Go
// types that are decoded into, and by their tags (schema.go lists them).
package authored
