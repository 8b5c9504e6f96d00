package authored

import (
	"io/fs"
	"path"
)

// File is one named text, from disk, an embedded folder or a request.
type File struct {
	Name string
	Data []byte
}

// FilesOf lists the YAML files of a folder, named with the prefix, in order of name.
func FilesOf(fsys fs.FS, dir, prefix string) []File {
	var files []File
	entries, err := fs.ReadDir(fsys, dir)
	if err != nil {
		panic(err) // an embedded folder is there
	}
	for _, e := range entries {
		if e.IsDir() || path.Ext(e.Name()) != ".yaml" {
			continue
		}
		text, err := fs.ReadFile(fsys, path.Join(dir, e.Name()))
		if err != nil {
			panic(err)
		}
		files = append(files, File{Name: prefix + e.Name(), Data: text})
	}
	return files
}
