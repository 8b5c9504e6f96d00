// Command treegen writes what the files that come with the program are when they are parsed, so that a start needn't parse them
// (rules/trees.bin). It needs none of the packages that read it.
//
//	go generate ./rules
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"drillwright/catalog/authored"
)

func main() {
	if err := write(); err != nil {
		fmt.Fprintln(os.Stderr, "treegen:", err)
		os.Exit(1)
	}
}

// write works in the folder rules, where go generate runs.
func write() error {
	var files []authored.File
	for _, pattern := range []string{"../catalog/data/*.yaml", "book/*.yaml", "floor/*.yaml"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			return err
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				return err
			}
			files = append(files, authored.File{Name: name, Data: data})
		}
	}
	packed, err := authored.PackTrees(files)
	if err != nil {
		return err
	}
	return os.WriteFile("trees.bin", packed, 0o644)
}
