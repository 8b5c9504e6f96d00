package sqlstore

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"drillwright/catalog"
)

var (
	// ErrEmpty: nothing was published yet.
	ErrEmpty = errors.New("nothing is published yet")
	// ErrUnknownRevision: no such revision was published. It is a catalog.ErrNotFound.
	ErrUnknownRevision = fmt.Errorf("revision %w", catalog.ErrNotFound)
	// ErrUnchanged: the revision is live already.
	ErrUnchanged = errors.New("this revision is live already; nothing would change")
	// ErrRequestReused: the request id belongs to an earlier request that asked for something else.
	ErrRequestReused = errors.New("the request id was used before, for another request; take a new one")
	// ErrNothingLeft: what is live can't be withdrawn while no other revision could take its place.
	ErrNothingLeft = errors.New("no other revision is left to go back to; publish a better one first")
)

// Stale says that the base of a request isn't what is live.
type Stale struct {
	Base string
	// Live is what is live; its Revision is empty when nothing is.
	Live Publication
	// Since is what was published after the base was last live, newest first, at most 100; everything when it never was.
	Since []Publication
}

func (e *Stale) Error() string {
	switch {
	case e.Live.Revision == "":
		return fmt.Sprintf("base %q: %v", e.Base, ErrEmpty)
	case e.Base == "":
		return fmt.Sprintf("no base is given, but %s", e.Live.words())
	}
	return fmt.Sprintf("base %q isn't live: %s", e.Base, e.Live.words())
}

func (p Publication) words() string {
	return fmt.Sprintf("%q is live, published by %s at %s", p.Revision, p.Author, p.At.Format(time.RFC3339))
}

// Withdrawn says that a revision can't be published, restored or withdrawn because it was withdrawn.
type Withdrawn struct {
	Revision string
	Withdrawal
}

func (e *Withdrawn) Error() string {
	text := fmt.Sprintf("revision %q was withdrawn by %s at %s", e.Revision, e.Author, e.At.Format(time.RFC3339))
	if e.Note != "" {
		text += ": " + e.Note
	}
	return text
}

// Damaged says that what is kept of a revision isn't what was published.
type Damaged struct {
	Revision string
	Why      string
}

func (e *Damaged) Error() string { return e.Why }

// Invalid is everything that is wrong with a request itself, each with the name of its field.
type Invalid []string

func (e Invalid) Error() string { return strings.Join(e, "; ") }

func (e Invalid) err() error {
	if len(e) == 0 {
		return nil
	}
	return e
}

func (e *Invalid) required(field, value string) {
	if value == "" {
		*e = append(*e, field+" is missing")
	}
	e.text(field, value)
}

// text refuses what not both databases can keep.
func (e *Invalid) text(field, value string) {
	if !utf8.ValidString(value) || strings.ContainsRune(value, 0) {
		*e = append(*e, field+" isn't text: it must be UTF-8 without NUL")
	}
}
