// Package catalog is what exists: the vocabulary, and the drills described in its words. It reads both
// strictly from YAML and holds them as one immutable snapshot, safe for use by many goroutines.
//
// It knows no wire, no database, no clock and no rule.
package catalog

import (
	"embed"
	"errors"
	"slices"
	"strings"

	"drillwright/catalog/authored"

	"go.yaml.in/yaml/v3"
)

//go:embed data/*.yaml
var data embed.FS

// ErrNotFound is returned, wrapped, when an id names nothing.
var ErrNotFound = errors.New("not found")

// Snapshot is a catalogue: its words and its drills in order of id.
type Snapshot struct {
	Vocabulary *Vocabulary
	Drills     []*Drill
	Features   []Features // by drill

	byID map[string]*Drill
}

// Drill finds a drill by id; nil when there is none.
func (s *Snapshot) Drill(id string) *Drill { return s.byID[id] }

// DrillIDs lists all ids in order.
func (s *Snapshot) DrillIDs() []string {
	ids := make([]string, len(s.Drills))
	for i, d := range s.Drills {
		ids[i] = d.ID
	}
	return ids
}

// EmbeddedFiles are the files of the catalogue that comes with the program.
func EmbeddedFiles() []authored.File { return authored.FilesOf(data, "data", "catalog/data/") }

// Read reads a catalogue from its files, which are told apart by their top keys. Files of other kinds are
// refused. The error is Problems.
func Read(files []authored.File) (*Snapshot, error) {
	d := authored.NewDecoder()
	var docs []*yaml.Node
	for _, f := range files {
		if n := d.Parse(f); n != nil {
			docs = append(docs, n)
		}
	}
	s := ReadDrills(d, ReadVocabulary(d, docs), docs)
	return s, d.Err()
}

// ReadVocabulary reads the vocabulary alone.
func ReadVocabulary(d *authored.Decoder, docs []*yaml.Node) *Vocabulary {
	voc := listsOf(d, docs)
	voc.finish(d.Report)
	return voc
}

// listsOf reads the lists of a vocabulary, unchecked.
func listsOf(d *authored.Decoder, docs []*yaml.Node) *Vocabulary {
	voc := &Vocabulary{}
	lists := map[string]authored.Pos{}
	for _, doc := range docs {
		for i := 0; i+1 < len(doc.Content); i += 2 {
			if key, val := doc.Content[i], doc.Content[i+1]; key.Value == "vocabulary" {
				addVocabulary(d, voc, val, lists)
			}
		}
	}
	return voc
}

// ReadDrills reads drills in the words of a vocabulary.
func ReadDrills(d *authored.Decoder, voc *Vocabulary, docs []*yaml.Node) *Snapshot {
	m := newMerger(d)
	for _, doc := range docs {
		m.collect(doc)
	}
	reader := drillReader{d, voc, m.partly}
	var drills []*Drill
	for _, n := range m.merged() {
		drills = append(drills, reader.drill(n))
	}
	s := NewSnapshot(voc, drills)
	s.checkLinks(d.Report)
	return s
}

// NewSnapshot puts drills in order of id and numbers them. A drill without an id, or with one that was given
// before, is left out. The drills are the snapshot's from then on.
func NewSnapshot(v *Vocabulary, drills []*Drill) *Snapshot {
	s := &Snapshot{Vocabulary: v, byID: map[string]*Drill{}}
	for _, drill := range drills {
		if drill.ID != "" && s.byID[drill.ID] == nil {
			s.byID[drill.ID] = drill
			s.Drills = append(s.Drills, drill)
		}
	}
	slices.SortFunc(s.Drills, func(a, b *Drill) int { return strings.Compare(a.ID, b.ID) })
	for i, drill := range s.Drills {
		drill.Index = i
		s.family(drill)
	}
	for _, drill := range s.Drills {
		drill.Drives = v.drives(drill)
		s.Features = append(s.Features, s.featuresOf(drill))
	}
	return s
}

// addVocabulary takes the lists of one file; a list may stand in one file only.
func addVocabulary(d *authored.Decoder, into *Vocabulary, n *yaml.Node, lists map[string]authored.Pos) {
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i]
			if first, ok := lists[key.Value]; ok {
				d.Add(d.At(key), "%s stands in %s too; a list of the vocabulary stands in one file", key.Value, first)
			}
			lists[key.Value] = d.At(key)
		}
	}
	d.Decode(n, into)
}

// family walks up to the root of a drill's variants, of which no drill has more that is read.
func (s *Snapshot) family(d *Drill) {
	root := d
	for range maxVariants {
		parent := s.byID[root.VariantOf]
		if parent == nil {
			break
		}
		root = parent
	}
	d.Family = root.ID
}

func (s *Snapshot) checkLinks(r *authored.Report) {
	ids := s.DrillIDs()
	for _, d := range s.Drills {
		for _, id := range slices.Concat(d.RegressTo, d.ProgressTo) {
			if s.byID[id] == nil {
				r.Unknown(d.At, "drill", id, ids)
			}
		}
	}
}
