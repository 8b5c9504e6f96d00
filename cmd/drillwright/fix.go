package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/rogpeppe/go-internal/diff"

	"drillwright/catalog/authored"
	"drillwright/rules"
)

// maxRounds is how often a folder is read anew: a fix may uncover what another fix can mend.
const maxRounds = 10

// fixAll makes the certain fixes in the files of a folder, and shows what they change.
func fixAll(out io.Writer, dir string) error {
	files, err := readFolder(dir)
	if err != nil {
		return err
	}
	mended := files
	for range maxRounds {
		_, err := rules.ReadDraft(mended, rules.EmbeddedFiles())
		var problems authored.Problems
		var old *rules.OldFormat
		if errors.As(err, &old) || !errors.As(err, &problems) {
			break // to raise the number of the format is book upgrade's
		}
		next := problems.Repaired(mended)
		if len(changed(mended, next)) == 0 {
			break
		}
		mended = next
	}
	if len(changed(files, mended)) == 0 {
		fmt.Fprintln(out, "Nothing to mend by itself.")
		return nil
	}
	return showFixed(out, files, mended)
}

// showFixed writes the files that are not as they were, and shows what is changed in each.
func showFixed(out io.Writer, files, mended []authored.File) error {
	if err := writeFiles(changed(files, mended)); err != nil {
		return err
	}
	for i, f := range mended {
		if !bytes.Equal(f.Data, files[i].Data) {
			fmt.Fprintf(out, "Mended %s:\n%s", f.Name, changes(files[i].Data, f.Data))
		}
	}
	return nil
}

// changed lists those files that are not as they were.
func changed(before, after []authored.File) []authored.File {
	var list []authored.File
	for i, f := range after {
		if !bytes.Equal(f.Data, before[i].Data) {
			list = append(list, f)
		}
	}
	return list
}

// changes are the lines that went, after -, and those that came, after +.
func changes(before, after []byte) string {
	var b strings.Builder
	_, body, _ := strings.Cut(string(diff.Diff("before", before, "after", after)), "\n@@")
	for _, line := range strings.Split(body, "\n")[1:] {
		if strings.HasPrefix(line, "-") || strings.HasPrefix(line, "+") {
			fmt.Fprintf(&b, "  %s\n", strings.TrimSuffix(line, "\r"))
		}
	}
	return b.String()
}

// writeFiles writes each file whole: first all under other names, and only when that went well in the place of the old.
func writeFiles(files []authored.File) error {
	var written []string
	defer func() {
		for _, name := range written {
			os.Remove(name)
		}
	}()
	var targets []string
	for _, f := range files {
		target, err := filepath.EvalSymlinks(f.Name)
		if err != nil {
			return fmt.Errorf("write %q: %w", f.Name, cause(err))
		}
		name, err := writeBeside(target, f.Data)
		if err != nil {
			return fmt.Errorf("write %q: %w", f.Name, cause(err))
		}
		written, targets = append(written, name), append(targets, target)
	}
	for i, target := range targets {
		if err := os.Rename(written[i], target); err != nil {
			return fmt.Errorf("write %q: %w", files[i].Name, err)
		}
	}
	written = nil
	return nil
}

// writeBeside writes a new file beside another, with its rights.
func writeBeside(target string, data []byte) (string, error) {
	info, err := os.Stat(target)
	if err != nil {
		return "", err
	}
	file, err := os.CreateTemp(filepath.Dir(target), ".mended-*")
	if err != nil {
		return "", err
	}
	_, err = file.Write(data)
	err = errors.Join(err, file.Chmod(info.Mode().Perm()), file.Sync(), file.Close())
	if err != nil {
		os.Remove(file.Name())
		return "", err
	}
	return file.Name(), nil
}
