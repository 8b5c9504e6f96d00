package server

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// mostKept files are written; later mismatches are only counted.
const mostKept = 100

// mismatch is the file that is kept of one. It holds the client's profile.
type mismatch struct {
	digest    string          // of the request
	Method    string          `json:"method"`
	Revision  string          `json:"revision"`
	Engine    string          `json:"engine"`
	Differs   string          `json:"differs"`
	Fault     string          `json:"fault,omitempty"` // of the plain way
	Request   json.RawMessage `json:"request"`
	Served    json.RawMessage `json:"served"`
	Reference json.RawMessage `json:"plain"`
}

// keep writes a mismatch, if the operator named a folder and there is room in it. A repeat takes the index of the
// former.
func keep(folder string, m mismatch, g given, plain response) (err error) {
	if folder == "" {
		return nil
	}
	name := filepath.Join(folder, strings.ToLower(path.Base(m.Method))+"-"+m.digest+".json")
	if scratch, err := roomFor(name); !scratch {
		return err
	}
	for to, from := range map[*json.RawMessage]proto.Message{&m.Request: g.request, &m.Served: g.served, &m.Reference: plain} {
		if *to, err = protojson.Marshal(from); err != nil {
			return fmt.Errorf("write %T as JSON: %w", from, err)
		}
	}
	var out bytes.Buffer
	lines := json.NewEncoder(&out) // indents anew: protojson varies its blanks on purpose
	lines.SetIndent("", "  ")
	lines.SetEscapeHTML(false)
	if err := lines.Encode(m); err != nil {
		return err
	}
	return os.WriteFile(name, out.Bytes(), 0o600)
}

// roomFor is true for a file that is there already, or while there are fewer than mostKept.
func roomFor(name string) (bool, error) {
	if _, err := os.Stat(name); !errors.Is(err, fs.ErrNotExist) {
		return err == nil, err
	}
	files, err := os.ReadDir(filepath.Dir(name))
	return err == nil && len(files) < mostKept, err
}

// readyFolder makes the folder for mismatches, readable by its owner alone, and refuses one that others can read.
func readyFolder(dir string) error {
	if dir == "" {
		return nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	info, err := os.Stat(dir)
	if err != nil {
		return err
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 {
		return fmt.Errorf("keep mismatches in %q: its mode is %#o, and client profiles may be read by its owner alone: chmod 700", dir, mode)
	}
	return nil
}
