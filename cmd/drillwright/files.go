package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"drillwright/catalog"
)

// mostRead is where reading a file ends: whatever is longer is refused by its reader, which names the size.
const mostRead = 16 << 20

// readFolder reads the .yaml files of a folder, in order of name.
func readFolder(dir string) ([]catalog.File, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("read folder %q: %w", dir, cause(err))
	}
	var files []catalog.File
	for _, e := range entries {
		if e.IsDir() || filepath.Ext(e.Name()) != ".yaml" {
			continue
		}
		file, err := readFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		files = append(files, file)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("read folder %q: it holds no .yaml file", dir)
	}
	return files, nil
}

// readFile reads a file, or standard input for "-".
func (sh *shell) readFile(name string) (catalog.File, error) {
	if name == "-" {
		return readAll("standard input", sh.in)
	}
	return readFile(name)
}

func readFile(name string) (catalog.File, error) {
	info, err := os.Stat(name)
	if err != nil {
		return catalog.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	if info.IsDir() {
		return catalog.File{}, fmt.Errorf("read %q: it is a folder", name)
	}
	file, err := os.Open(name)
	if err != nil {
		return catalog.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	defer file.Close()
	return readAll(name, file)
}

func readAll(name string, r io.Reader) (catalog.File, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostRead))
	if err != nil {
		return catalog.File{}, fmt.Errorf("read %q: %w", name, cause(err))
	}
	return catalog.File{Name: name, Data: text}, nil
}

// cause leaves out the operation and the path, which the message around it names already.
func cause(err error) error {
	if path, ok := err.(*os.PathError); ok {
		return path.Err
	}
	return err
}
