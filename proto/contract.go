// Package contract is the wire contract for programs in any language: its .proto files with all that they import, and the
// policy by which a client sends a call again. The Go of it is in drillwright/v1.
package contract

import (
	"embed"
	"io/fs"
)

// ServiceConfig is a gRPC service config: methods that only read are called again when the server is UNAVAILABLE, a few times and
// ever later. It needs no change of the calling program.
//
//go:embed service_config.json
var ServiceConfig string

//go:embed buf google drillwright/v1/*.proto NOTICE service_config.json
var folder embed.FS

// Folder holds the .proto files by the paths under which they import each other, the licences of those that aren't ours, and
// the service config.
func Folder() fs.FS { return folder }
