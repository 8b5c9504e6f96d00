package client

import (
	"cmp"
	"slices"
	"strings"
)

// Violation is one thing that is wrong with a request.
type Violation struct {
	// Field is the path of the field from the request on, as the contract names it:
	// profile.range_deg["shoulder.flexion"].left.value.
	Field   string
	Message string
	// Suggestion is what would be right, as a clause; it may be empty.
	Suggestion string
}

// Sentence is the message with its suggestion, without the field.
func (v Violation) Sentence() string {
	if v.Suggestion == "" {
		return v.Message
	}
	return v.Message + "; " + v.Suggestion
}

// Invalid is a request that can't be answered: everything that is wrong with it, by field.
type Invalid struct{ Violations []Violation }

func (e *Invalid) Error() string {
	lines := make([]string, len(e.Violations))
	for i, v := range e.Violations {
		lines[i] = v.Field + ": " + v.Sentence()
	}
	return strings.Join(lines, "\n")
}

// NewInvalid sorts violations by field, each once. It returns nil when there are none.
func NewInvalid(list []Violation) error {
	if len(list) == 0 {
		return nil
	}
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b Violation) int {
		return cmp.Or(cmp.Compare(a.Field, b.Field), cmp.Compare(a.Message, b.Message))
	})
	return &Invalid{slices.Compact(sorted)}
}
