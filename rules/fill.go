package rules

import (
	"math"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/language"
	"drillwright/rules/predicate"
)

// fill writes the sentence for a reading and, if the rule has a witness, for the member id at its place.
func (e *Edition) fill(s *language.Sentence, rd *predicate.Reading, domainName, id string, member int) string {
	if s.Whole != "" {
		return s.Whole
	}
	var b strings.Builder
	b.Grow(160) // most sentences
	v := e.Frame.Vocabulary
	for _, p := range s.Parts {
		switch {
		case p.Fixed == "side":
			b.WriteString(sideWord(v, domainName, id, rd.Side))
		case p.Fixed != "":
			b.WriteString(v.Name(p.Fixed, id))
		case p.Numbers != nil:
			b.WriteString(e.figure(p.Numbers[max(0, min(member, len(p.Numbers)-1))], rd))
		case p.Words != nil:
			b.WriteString(e.readable(p.Words[max(0, min(member, len(p.Words)-1))], rd))
		default:
			b.WriteString(p.Text)
		}
	}
	return language.Tidy(b.String())
}

// figured is whether all that a sentence says of the client is known.
func (e *Edition) figured(s *language.Sentence, rd *predicate.Reading, member int) bool {
	for _, p := range s.Parts {
		switch {
		case p.Numbers != nil:
			if v := rd.Value(p.Numbers[max(0, min(member, len(p.Numbers)-1))]); !v.Known() && !math.IsNaN(v.Lo) {
				return false
			}
		case p.Words != nil:
			if set := rd.Words(p.Words[max(0, min(member, len(p.Words)-1))]); len(set.Possible) != len(set.Sure) {
				return false
			}
		}
	}
	return true
}

// sideWord is left or right, and nothing for a midline motion or region.
func sideWord(v *catalog.Vocabulary, domainName, id string, side int) string {
	if m := v.Motion(id); domainName == "motions" && m != nil && !m.Sided || domainName == "regions" && !v.Sided(id) {
		return ""
	}
	return [2]string{"left", "right"}[side]
}

// figure writes a number: whole when it is, else to one place; a rung by its name; "not measured" when unknown.
func (e *Edition) figure(m *predicate.Num, rd *predicate.Reading) string {
	s := rd.Value(m)
	switch {
	case math.IsNaN(s.Lo):
		return "none"
	case !s.Known() && m.Op == predicate.Value && m.Ref.Region != "" && s.Hi < m.Ref.Path.Hi:
		l := e.Frame.Ladder(m.Ref.Region)
		return l.RungName(int(s.Lo)) + ", up to " + l.RungName(int(s.Hi)) + " once tested"
	case !s.Known():
		return "an unmeasured value"
	case m.Op == predicate.Value && m.Ref.Region != "":
		return e.Frame.Ladder(m.Ref.Region).RungName(int(s.Lo))
	}
	return Figure(s.Lo)
}

// Figure writes a number as people read it.
func Figure(v float64) string {
	if v == math.Trunc(v) && math.Abs(v) < 1e15 {
		return strconv.FormatInt(int64(v), 10)
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// readable writes words by their names.
func (e *Edition) readable(w *predicate.Words, rd *predicate.Reading) string {
	set := rd.Words(w)
	if len(set.Possible) != len(set.Sure) {
		return "not known"
	}
	names := make([]string, len(set.Sure))
	for i, id := range set.Sure {
		names[i] = e.wordName(w.Ref, id)
	}
	return strings.Join(names, ", ")
}

func (e *Edition) wordName(ref *predicate.Ref, id string) string {
	switch {
	case ref == nil:
		return id
	case ref.Vocab == "drill":
		if d := e.Catalogue.Drill(id); d != nil {
			return d.Name
		}
	case ref.Vocab != "":
		return e.Frame.Vocabulary.Name(ref.Vocab, id)
	case strings.HasSuffix(ref.Name, ".kinds"):
		return e.Frame.Vocabulary.Name("pain_kind", id)
	case strings.HasPrefix(ref.Name, "client.conditions"):
		return e.Frame.Vocabulary.Name("condition", id)
	case ref.Name == "drill.name" || ref.Name == "lift.name":
		return id
	}
	return strings.ToLower(strings.ReplaceAll(id, "_", " "))
}
