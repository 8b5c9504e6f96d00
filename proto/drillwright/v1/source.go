package drillwrightv1

import "embed"

// Sources are the contract as written, with the comments that the generated code leaves out.
//
//go:embed *.proto
var Sources embed.FS
