package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strings"

	contract "drillwright/proto"
)

// sumsFile lists what writeContract wrote, as sha256sum does. By it the next run knows its own files.
const sumsFile = "drillwright.sha256"

// writeContract writes the contract's files into a folder, and says which. A file that is there and that it didn't write, or that was
// edited since, is told of and left, and then nothing is written.
func writeContract(dir string) (names []string, err error) {
	names, texts, err := contractFiles()
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("make folder %q: %w", dir, cause(err))
	}
	root, err := os.OpenRoot(dir) // no link in it leads the writing out of it
	if err != nil {
		return nil, fmt.Errorf("write into %q: %w", dir, cause(err))
	}
	defer root.Close()
	if err := onlyOurs(root, names, texts); err != nil {
		return nil, fmt.Errorf("write into %q: %w", dir, err)
	}
	for _, name := range names {
		if err := root.MkdirAll(path.Dir(name), 0o777); err != nil {
			return nil, fmt.Errorf("make folder %q in %q: %w", path.Dir(name), dir, cause(err))
		}
		if err := root.WriteFile(name, texts[name], 0o666); err != nil {
			return nil, fmt.Errorf("write %q in %q: %w", name, dir, cause(err))
		}
	}
	return names, nil
}

// contractFiles are the files by name, in order, and last the list of them.
func contractFiles() (names []string, texts map[string][]byte, err error) {
	texts = map[string][]byte{}
	var sums bytes.Buffer
	err = fs.WalkDir(contract.Folder(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(contract.Folder(), name)
		names, texts[name] = append(names, name), text
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(text), name)
		return err
	})
	names, texts[sumsFile] = append(names, sumsFile), sums.Bytes()
	return names, texts, err
}

// onlyOurs is an error that names the files which would be lost.
func onlyOurs(root *os.Root, names []string, texts map[string][]byte) error {
	sums, err := root.ReadFile(sumsFile)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("read %q: %w", sumsFile, cause(err))
	}
	var foreign []string
	for _, name := range names {
		there, err := root.ReadFile(name)
		switch {
		case errors.Is(err, fs.ErrNotExist) || name == sumsFile:
		case err != nil:
			return fmt.Errorf("read %q: %w", name, cause(err))
		case !bytes.Equal(there, texts[name]) && !bytes.Contains(sums, fmt.Appendf(nil, "%x  %s\n", sha256.Sum256(there), name)):
			foreign = append(foreign, name)
		}
	}
	if len(foreign) > 0 {
		return fmt.Errorf("it holds files that drillwright didn't write, or that were edited since: %s; move them away or name another folder",
			strings.Join(foreign, ", "))
	}
	return nil
}
