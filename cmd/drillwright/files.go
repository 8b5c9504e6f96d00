package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"drillwright/catalog/authored"
)

// mostRead is where reading a file ends: whatever is longer is refused by its reader, which names the size.
const mostRead = 16 << 20

// readFolder reads the .yaml files of a folder and of those in it, in order of path. Folders that begin with a dot are
// passed over.
func readFolder(dir string) ([]authored.File, error) {
	var files []authored.File
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fmt.Errorf("read folder %q: %w", path, cause(err))
		case path == dir && !entry.IsDir():
			return fmt.Errorf("read folder %q: it is a file", path)
		case entry.IsDir() && path != dir && strings.HasPrefix(entry.Name(), "."):
			return filepath.SkipDir
		case entry.IsDir() || filepath.Ext(path) != ".yaml":
			return nil
		}
		file, err := readFile(path)
		files = append(files, file)
		return err
	})
	if err == nil && len(files) == 0 {
		err = fmt.Errorf("read folder %q: it holds no .yaml file", dir)
	}
	return files, err
}

// readFile reads a file, or standard input for "-".
func (sh *shell) readFile(name string) (authored.File, error) {
	if name == "-" {
		return readAll("standard input", sh.in)
	}
	return readFile(name)
}

func readFile(name string) (authored.File, error) {
	info, err := os.Stat(name)
	if err != nil {
		return authored.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	if info.IsDir() {
		return authored.File{}, fmt.Errorf("read %q: it is a folder", name)
	}
	file, err := os.Open(name)
	if err != nil {
		return authored.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	defer file.Close()
	return readAll(name, file)
}

func readAll(name string, r io.Reader) (authored.File, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostRead))
	if err != nil {
		return authored.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	return authored.File{Name: name, Data: text}, nil
}

// cause leaves out the operation and the path, which the message around it names already.
func cause(err error) error {
	if path, ok := err.(*os.PathError); ok {
		return path.Err
	}
	return err
}
