package client

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog/authored"
)

// Violation is one thing that is wrong with a request.
type Violation struct {
	// Field is the path of the field from the request on, as the contract names it:
	// profile.range_deg["shoulder.flexion"].left.value.
	Field   string
	Message string
	// Suggestion is what would be right, as a clause, where it is known at once; see Suggested.
	Suggestion string

	unknown *unknown
}

// Suggested is what would be right, as a clause; it may be empty. What an unknown word is near to is looked for now.
func (v Violation) Suggested() string {
	if v.unknown != nil {
		return v.unknown.near()
	}
	return v.Suggestion
}

// Sentence is the message with what would be right, without the field.
func (v Violation) Sentence() string {
	if right := v.Suggested(); right != "" {
		return v.Message + "; " + right
	}
	return v.Message
}

// Invalid is a request that can't be answered: everything that is wrong with it.
type Invalid struct {
	Violations []Violation
	// More is how many there are beyond those, where it would take too long to say them.
	More int
}

func (e *Invalid) Error() string {
	lines := make([]string, len(e.Violations))
	for i, v := range e.Violations {
		lines[i] = v.Field + ": " + v.Sentence()
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// NewInvalid tells each violation once. It is nil when there are none.
func NewInvalid(list []Violation) error {
	if len(list) == 0 {
		return nil
	}
	reported := make(map[[2]string]bool, len(list))
	return &Invalid{Violations: slices.DeleteFunc(list, func(v Violation) bool {
		key := [2]string{v.Field, v.Message}
		again := reported[key]
		reported[key] = true
		return again
	})}
}

// ErrAbandoned ends work on a request whose caller no longer waits.
var ErrAbandoned = errors.New("nobody waits for the answer any more")

// MostSearched is how many different unknown words of a request the nearest known one is searched for: a search goes through
// every word of its kind.
const MostSearched = 50

// unknown is a word that nobody knows. All of the same kind and text are one, so it is searched for once.
type unknown struct {
	word     string
	known    []string
	searches *searches
	searched bool
	found    string
}

// searches are those of one request.
type searches struct {
	words map[unknownKey]*unknown
	made  int
}

type unknownKey struct {
	word  string
	first *string // of the known words
}

func (s *searches) of(word string, known []string) *unknown {
	key := unknownKey{word: word}
	if len(known) > 0 {
		key.first = &known[0]
	}
	if u := s.words[key]; u != nil {
		return u
	}
	if s.words == nil {
		s.words = map[unknownKey]*unknown{}
	}
	u := &unknown{word: word, known: known, searches: s}
	s.words[key] = u
	return u
}

// near is what the known words say to a word: those it is like, or all when they are few.
func (u *unknown) near() string {
	if !u.searched && u.searches.made < MostSearched {
		u.searched = true
		u.searches.made++
		u.found = authored.DidYouMean(u.word, u.known)
	}
	return u.found
}
