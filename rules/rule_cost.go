package rules

import (
	"slices"

	"drillwright/catalog/authored"
	"drillwright/rules/compile"
)

// RuleHow is how one rule is judged against the catalogue.
type RuleHow struct {
	At     authored.Pos
	ID     string
	Effect Effect
	Parts  []PartHow // in the order in which they run; none of a rule that always holds
}

// PartHow is a part of a rule, or those of an unrolled any or all that are written alike and became the same.
type PartHow struct {
	Text  string
	Form  string // bitset, scalar, indexed or closure
	Sided bool   // the answer of some may differ between the sides
	Count int
	// Least and Most are, of a bitset, how many rows of drills it holds, of an index, how many values it is looked up in.
	Least, Most int

	keys []string
}

// FormHow counts the parts of a form over the whole book. Distinct parts are answered once, however often they stand.
type FormHow struct {
	Form            string
	Parts, Distinct int
}

// How lists how each rule is judged, in the order of the book. Rules that are asked once of a client, and not of
// drills, are left out.
func (e *Edition) How() []RuleHow {
	out := make([]RuleHow, len(e.judged))
	for i, r := range e.judged {
		out[i] = RuleHow{At: r.At, ID: r.ID, Effect: r.Effect, Parts: together(e.program.How(i))}
	}
	return out
}

// together joins parts that are written alike.
func together(parts []compile.Part) []PartHow {
	var out []PartHow
	for _, p := range parts {
		i := slices.IndexFunc(out, func(h PartHow) bool {
			return h.Text == p.Text && h.Form == string(p.Form)
		})
		if i < 0 {
			out = append(out, PartHow{Text: p.Text, Form: string(p.Form), Least: p.Rows, Most: p.Rows})
			i = len(out) - 1
		}
		h := &out[i]
		h.Count++
		h.Sided = h.Sided || p.Sided
		h.Least, h.Most = min(h.Least, p.Rows), max(h.Most, p.Rows)
		h.keys = append(h.keys, p.Key)
	}
	return out
}

// Sided is whether a rule is judged on each side by itself.
func (h RuleHow) Sided() bool {
	return slices.ContainsFunc(h.Parts, func(p PartHow) bool { return p.Sided })
}

// Closures is how many closures a rule holds.
func (h RuleHow) Closures() int {
	n := 0
	for _, p := range h.Parts {
		if p.Form == string(compile.Closure) {
			n += p.Count
		}
	}
	return n
}

// Forms counts the parts of rules, from the cheapest form to the costliest.
func Forms(list []RuleHow) []FormHow {
	var out []FormHow
	for _, form := range []compile.Form{compile.Bitset, compile.Scalar, compile.Indexed, compile.Closure} {
		f := FormHow{Form: string(form)}
		seen := map[string]bool{}
		for _, r := range list {
			for _, p := range r.Parts {
				if p.Form != f.Form {
					continue
				}
				f.Parts += p.Count
				for _, k := range p.keys {
					seen[k] = true
				}
			}
		}
		f.Distinct = len(seen)
		out = append(out, f)
	}
	return out
}
