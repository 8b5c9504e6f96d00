// Package clients holds the client files that come with the program, for previews and tests. The people are invented:
// members of a rowing club.
package clients

import (
	"embed"

	"drillwright/catalog/authored"
)

//go:embed *.yaml
var files embed.FS

// Files lists them in order of name.
func Files() []authored.File { return authored.FilesOf(files, ".", "testdata/clients/") }
