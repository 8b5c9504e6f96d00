package token

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"sync"
)

// A file of tokens has one a line, in JSON. A line is never quoted in an error: it may hold what somebody took for a digest.

// mostBytes of a file: some ten thousand tokens.
const mostBytes = 4 << 20

// File is a file of tokens that is read again and again.
type File struct {
	path string

	mu   sync.Mutex
	last fs.FileInfo // of the file as it was last read well
	list []Token
}

// OpenFile reads a file of tokens. Whoever can write it can let anybody in: one that other users may write is refused.
func OpenFile(path string) (*File, error) {
	f := &File{path: path}
	_, err := f.Read()
	return f, err
}

// Read is what the file says now. It is read only when it has changed.
func (f *File) Read() ([]Token, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	now, err := os.Stat(f.path)
	if err != nil {
		return nil, fmt.Errorf("read tokens of %q: %w", f.path, cause(err))
	}
	if f.last != nil && os.SameFile(f.last, now) && f.last.ModTime().Equal(now.ModTime()) && f.last.Size() == now.Size() &&
		f.last.Mode() == now.Mode() {
		return f.list, nil
	}
	list, err := readFile(f.path)
	if err != nil {
		return nil, err
	}
	f.last, f.list = now, list
	return list, nil
}

func readFile(path string) ([]Token, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read tokens of %q: %w", path, cause(err))
	}
	defer file.Close()
	info, err := file.Stat()
	switch {
	case err != nil:
		return nil, fmt.Errorf("read tokens of %q: %w", path, cause(err))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("read tokens of %q: it is not a file", path)
	case info.Mode().Perm()&0o022 != 0:
		return nil, fmt.Errorf("read tokens of %q: other users may write it (mode %04o), and so let anybody in; chmod go-w it", path,
			info.Mode().Perm())
	}
	text, err := io.ReadAll(io.LimitReader(file, mostBytes+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("read tokens of %q: %w", path, cause(err))
	case len(text) > mostBytes:
		return nil, fmt.Errorf("read tokens of %q: it is larger than %d MiB", path, mostBytes>>20)
	}
	list, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("read tokens of %q: %w", path, err)
	}
	return list, nil
}

// parse reads a file's text. The error is an Invalid with everything that is wrong with it.
func parse(text []byte) ([]Token, error) {
	var list []Token
	var lines []int // of the tokens
	var wrong Invalid
	for i, line := range bytes.Split(text, []byte("\n")) {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		decoder := json.NewDecoder(bytes.NewReader(line))
		decoder.DisallowUnknownFields()
		var t Token
		err := decoder.Decode(&t)
		if err == nil {
			_, err = decoder.Token()
			if errors.Is(err, io.EOF) {
				list, lines = append(list, t), append(lines, i+1)
				continue
			}
			err = errors.New("something stands after the token")
		}
		wrong = append(wrong, fmt.Sprintf("line %d: it is no token as token create writes them: %s", i+1, withoutText(err)))
	}
	err := CheckList(list, func(i int) string { return fmt.Sprintf("line %d: ", lines[i]) })
	var more Invalid
	if errors.As(err, &more) {
		wrong = append(wrong, more...)
	}
	if wrong != nil {
		return nil, wrong
	}
	return list, nil
}

// withoutText is an error of encoding/json that shows nothing of what it read but the names of fields.
func withoutText(err error) string {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax), errors.Is(err, io.ErrUnexpectedEOF):
		return "it is not JSON"
	case errors.As(err, &kind):
		return fmt.Sprintf("%s can't be a %s", kind.Field, strings.Fields(kind.Value)[0])
	case strings.HasPrefix(err.Error(), "parsing time"):
		return "a time must be written as in 2026-11-24T08:00:00Z"
	case strings.HasPrefix(err.Error(), "json: unknown field"):
		return "it has a field that tokens don't have"
	}
	return err.Error()
}

// EditFile changes a file of tokens, which is made if it isn't there. Readers see it as it was or as it becomes, and of two who
// edit at once one is told.
func EditFile(path string, change func([]Token) ([]Token, error)) error {
	mode := fs.FileMode(0o600)
	beside := path + ".new"
	next, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("write %q: another command is about to, or was ended before it could: if none runs, remove %q", path, beside)
	case err != nil:
		return fmt.Errorf("write %q: %w", beside, cause(err))
	}
	written := false
	defer func() {
		if !written {
			os.Remove(beside)
		}
	}()
	defer next.Close()
	var list []Token
	switch had, err := os.Stat(path); {
	case err == nil:
		if list, err = readFile(path); err != nil {
			return err
		}
		mode = had.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("read tokens of %q: %w", path, cause(err))
	}
	if list, err = change(list); err != nil {
		return err
	}
	if err := write(next, mode, list); err != nil {
		return fmt.Errorf("write %q: %w", beside, cause(err))
	}
	if err := os.Rename(beside, path); err != nil {
		return fmt.Errorf("replace %q: %w", path, err)
	}
	written = true
	return nil
}

func write(file *os.File, mode fs.FileMode, list []Token) error {
	var text bytes.Buffer
	encoder := json.NewEncoder(&text)
	encoder.SetEscapeHTML(false)
	for i := range list {
		if err := encoder.Encode(&list[i]); err != nil {
			return err
		}
	}
	if _, err := file.Write(text.Bytes()); err != nil {
		return err
	}
	if err := file.Chmod(mode); err != nil {
		return err
	}
	return file.Sync()
}

// cause leaves out the operation and the path, which the message around it names already.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}
