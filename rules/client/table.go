package client

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// Kind is the type of a path.
type Kind string

// The kinds. A word is one of a few texts; a list holds words.
const (
	Number Kind = "number"
	Bool   Kind = "yes or no"
	Word   Kind = "word"
	List   Kind = "list"
)

// Path is one fact that a rule may read, numbered within its kind.
type Path struct {
	Name string
	Kind Kind
	// Slot counts within numbers, within yes-or-nos, and within words and lists together.
	Slot int
	Unit string // deg, kg, N, s, weeks, …; empty for a plain number
	// Lo and Hi are the limits of a number: what it can be when it is unknown.
	Lo, Hi float64
	// Words are the values that a word can have, or the members that a list can have; nil means any drill.
	Words []string
	Sided bool
	// CanChange is true of what training or kit can change; only these may appear in "what would open it".
	CanChange bool
	// TestFirst says that a bar which hangs on this unknown is "test first" rather than "not today".
	TestFirst bool
	// Measure is the readable name of what to measure, for facts that somebody can measure.
	Measure string
}

// Table numbers every path of a client, a request and the norms.
type Table struct {
	Paths                 []Path
	numbers, bools, words int // how many slots of each kind

	byName     map[string]int
	vocabulary *catalog.Vocabulary
}

// Path finds a path by its name; nil when there is none.
func (t *Table) Path(name string) *Path {
	if i, ok := t.byName[name]; ok {
		return &t.Paths[i]
	}
	return nil
}

// Index is the index of a path in Paths.
func (t *Table) Index(p *Path) int { return t.byName[p.Name] }

// Names lists all paths in order.
func (t *Table) Names() []string {
	names := make([]string, len(t.Paths))
	for i := range t.Paths {
		names[i] = t.Paths[i].Name
	}
	return names
}

func (t *Table) add(p Path, traits []func(*Path)) kept {
	for _, trait := range traits {
		trait(&p)
	}
	counter := map[Kind]*int{Number: &t.numbers, Bool: &t.bools, Word: &t.words, List: &t.words}[p.Kind]
	p.Slot = *counter
	*counter++
	index := len(t.Paths)
	t.byName[p.Name] = index
	t.Paths = append(t.Paths, p)
	return kept{int32(p.Slot), int32(index)}
}

func (t *Table) number(name, unit string, lo, hi float64, traits ...func(*Path)) numberAt {
	return numberAt(t.add(Path{Name: name, Kind: Number, Unit: unit, Lo: lo, Hi: hi}, traits))
}

func (t *Table) yesNo(name string, traits ...func(*Path)) truthAt {
	return truthAt(t.add(Path{Name: name, Kind: Bool}, traits))
}

func (t *Table) word(name string, words []string, traits ...func(*Path)) wordsAt {
	return wordsAt(t.add(Path{Name: name, Kind: Word, Words: words}, traits))
}

func (t *Table) list(name string, words []string, traits ...func(*Path)) wordsAt {
	return wordsAt(t.add(Path{Name: name, Kind: List, Words: words}, traits))
}

// Traits of paths.
func sided(yes bool) func(*Path) { return func(p *Path) { p.Sided = yes } }
func testable(what string) func(*Path) {
	return func(p *Path) { p.TestFirst, p.Measure = true, what }
}

// settled marks paths that are never unknown: no bar ever hangs on their absence.
func settled(p *Path) { p.TestFirst = true }

// Irritability levels, low to high.
var Irritabilities = []string{"low", "moderate", "high"}

// Moments of a complaint: those of a movement, and the times around it.
var ComplaintMoments = complaintMomentWords

// Onsets of a complaint.
var Onsets = complaintOnsetWords

// NearestPath walks the parts of a path; at the first part that no known path has, it suggests the nearest there.
func NearestPath(name string, known []string) string {
	parts := strings.Split(name, ".")
	for depth := range parts {
		prefix := strings.Join(parts[:depth], ".")
		if prefix != "" {
			prefix += "."
		}
		var here []string
		for _, k := range known {
			if rest, ok := strings.CutPrefix(k, prefix); ok {
				if part, _, _ := strings.Cut(rest, "."); !slices.Contains(here, part) {
					here = append(here, part)
				}
			}
		}
		if !slices.Contains(here, parts[depth]) {
			if near := authored.Nearest(parts[depth], here); near != "" {
				return near
			}
			return ""
		}
	}
	return ""
}
