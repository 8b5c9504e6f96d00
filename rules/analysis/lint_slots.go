package analysis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// fitted is a client with some kit on some rung, free of all else, and what is open to them.
type fitted struct {
	kit, rung string
	client    *client.Request
	open      []*catalog.Drill
}

// slots looks for slots of plans that too few drills fit, with no kit, with the sets of kit that most drills ask for and
// with all of it, on each rung. A slot that must be filled is a finding of its own. One that may stay empty is one where it
// always does; the others are told together, a plan at a time.
func (l *linter) slots() {
	trials := l.trials()
	for _, p := range l.e.Book.Plans {
		var may []string
		for i := range p.Slots {
			s := &p.Slots[i]
			if !l.step(len(trials) * len(l.e.Catalogue.Drills)) {
				l.left[emptySlot]++
				continue
			}
			empty := slices.DeleteFunc(slices.Clone(trials), func(t fitted) bool { return l.fits(t, s) >= max(1, s.Count) })
			where := fmt.Sprintf("%s (%s)", s.ID, l.combined(empty))
			switch {
			case len(empty) == 0:
			case len(empty) == len(trials):
				l.empty(p, s, empty[0], fmt.Sprintf("slot %s of %s can't be filled with any kit on any rung", s.ID, p.ID))
			case s.Optional:
				may = append(may, where)
			default:
				l.empty(p, s, empty[0], fmt.Sprintf("slot %s of %s can't be filled: %s", s.ID, p.ID, l.combined(empty)))
			}
		}
		if len(may) > 0 {
			l.find(Finding{Kind: emptySlot, At: p.At, Message: fmt.Sprintf("optional slots of %s stay empty: %s", p.ID, strings.Join(may, "; "))})
		}
	}
}

func (l *linter) empty(p *rules.Plan, s *rules.Slot, t fitted, message string) {
	at := s.Where.At
	if at.Line == 0 {
		at = p.At
	}
	l.find(Finding{Kind: emptySlot, At: at, Message: message, Client: t.client})
}

func (l *linter) fits(t fitted, s *rules.Slot) int {
	j := l.e.JudgeOne(l.facts, nil)
	defer j.Done()
	n := 0
	for _, d := range t.open {
		if j.Satisfies(s.Predicate, d, 0).Sure {
			n++
		}
	}
	return n
}

// trials are every set of kit on every rung.
func (l *linter) trials() []fitted {
	rungs := 0
	for i := range l.e.Frame.Ladders {
		rungs = max(rungs, len(l.e.Frame.Ladders[i].Rungs))
	}
	var out []fitted
	for _, kit := range l.kits() {
		for index := range rungs {
			q := freeClient(l.e, func(p *client.Profile) {
				p.Kit = kit.kit
				placeOnRung(l.e, p, index)
			})
			out = append(out, fitted{kit.named, l.rungAt(index), q, l.openTo(q)})
		}
	}
	return out
}

func (l *linter) openTo(q *client.Request) []*catalog.Drill {
	f := client.Derive(l.e.Frame, q)
	defer f.Done()
	j := l.e.Judge(f, nil)
	defer j.Done()
	var out []*catalog.Drill
	for _, d := range l.e.Catalogue.Drills {
		left, right := j.Verdict(d, catalog.Left) == rules.Open, j.Verdict(d, catalog.Right) == rules.Open
		if left && right || d.Sides == catalog.OneSide && (left || right) {
			out = append(out, d)
		}
	}
	return out
}

// rungAt is the name of a place on the longest ladder.
func (l *linter) rungAt(index int) string {
	for i := range l.e.Frame.Ladders {
		if rungs := l.e.Frame.Ladders[i].Rungs; index < len(rungs) {
			return rungs[index]
		}
	}
	return ""
}

type kitSet struct {
	named string
	kit   []string
}

// kits are none, the three sets that most drills ask for, and everything.
func (l *linter) kits() []kitSet {
	asked := map[string]int{}
	var sets [][]string
	for _, d := range l.e.Catalogue.Drills {
		set := slices.DeleteFunc(slices.Sorted(slices.Values(d.Kit)), l.thereAnyway)
		if key := strings.Join(set, " and "); len(set) > 0 {
			if asked[key]++; asked[key] == 1 {
				sets = append(sets, set)
			}
		}
	}
	slices.SortStableFunc(sets, func(a, b []string) int {
		x, y := strings.Join(a, " and "), strings.Join(b, " and ")
		return cmp.Or(cmp.Compare(asked[y], asked[x]), cmp.Compare(x, y))
	})
	out := []kitSet{{"no kit", nil}}
	for _, set := range sets[:min(3, len(sets))] {
		out = append(out, kitSet{strings.Join(set, " and "), set})
	}
	return append(out, kitSet{"all kit", l.e.Frame.Vocabulary.IDs("kit")})
}

func (l *linter) thereAnyway(kit string) bool {
	v := l.e.Frame.Vocabulary
	return v.Kit[v.Index("kit", kit)].Always
}

// combined says on which rungs, and with which sets of kit: those that fail alike together.
func (l *linter) combined(list []fitted) string {
	all, kits, rungs := l.kits(), map[string][]string{}, []string{}
	for _, k := range all {
		on := ""
		for _, t := range list {
			if t.kit == k.named {
				on += ", " + t.rung
			}
		}
		if on = strings.TrimPrefix(on, ", "); on != "" {
			if kits[on] == nil {
				rungs = append(rungs, on)
			}
			kits[on] = append(kits[on], k.named)
		}
	}
	var out []string
	for _, on := range rungs {
		with := "with " + strings.Join(kits[on], " or ")
		if len(kits[on]) == len(all) {
			with = "with any kit"
		}
		out = append(out, fmt.Sprintf("at %s %s", on, with))
	}
	return strings.Join(out, ", ")
}
