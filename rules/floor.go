package rules

import (
	"fmt"
	"slices"
	"strings"

	"drillwright/catalog/authored"
)

// floorFolder is where the floor's files stand, in the program and nowhere else.
const floorFolder = "rules/floor/"

// firstRung is what the floor takes for moving without load: the first rung of every ladder.
const firstRung = "active_motion"

// floorValidDays is the part of the floor that isn't a rule: how long, at most, what its rules read is trusted, in days.
const floorValidDays = "floor-valid-days"

var mostValidDays = struct{ pain, bloodPressure, answer int }{pain: 7, bloodPressure: 28, answer: 28}

// Loosened is a part of the floor that an edition does without. It takes a Review, and every answer says
// so.
type Loosened struct {
	At    authored.Pos
	Floor string `yaml:"floor" doc:"Id of a rule of the floor, or floor-valid-days."`
	Why   string `yaml:"why" doc:"Why it is loosened, as every answer then says."`
}

// noFloorFiles refuses files of a draft that would pass for the floor's.
func noFloorFiles(r *authored.Report, files []authored.File) {
	for _, f := range files {
		if strings.HasPrefix(f.Name, floorFolder) {
			r.Suggest(authored.Pos{Source: &authored.Source{Name: f.Name}}, "leave it out of the draft; a book may tighten it with rules of its own",
				"the floor stands in the program, under every book, and can't be edited")
		}
	}
}

// checkFloor holds what a book may edit, and the floor's rules stand on, against the floor.
func (e *Edition) checkFloor(r *authored.Report) {
	for _, l := range e.Frame.Ladders {
		if len(l.Rungs) > 0 && l.Rungs[0] != firstRung {
			r.Suggest(l.At, "begin with "+firstRung, "the ladder of %q begins with %q; the first rung of each is moving without load", l.Region,
				l.Rungs[0])
		}
	}
	for _, d := range e.Catalogue.Drills {
		if d.Lifted() && !d.Loads {
			r.Suggest(d.At, "give the regions that it drives a rung above "+firstRung,
				"drill %q moves a load and stands on %s everywhere, as if it moved none", d.ID, firstRung)
		}
	}
	days := &e.Frame.Measures.ValidDays
	for _, v := range []struct {
		field     string
		has, most int
	}{{"pain", days.Pain, mostValidDays.pain}, {"blood_pressure", days.BloodPressure, mostValidDays.bloodPressure},
		{"answer", days.Answer, mostValidDays.answer}} {
		if v.has > v.most && !e.Book.About.loosens(floorValidDays) {
			r.Suggest(e.Frame.Measures.At,
				fmt.Sprintf("at most %d, or loosen %s under about:, which takes a licensed reviewer", v.most, floorValidDays),
				"valid_days: %s: %d days are more than the floor allows", v.field, v.has)
		}
	}
}

func (a *About) loosens(part string) bool {
	return slices.ContainsFunc(a.Loosens, func(l Loosened) bool { return l.Floor == part })
}

// loosen takes the rules of the floor out that a licensed reviewer has loosened.
func (b *bookReader) loosen() {
	about, parts := &b.book.About, []string{floorValidDays}
	for _, r := range slices.Concat(b.book.Rules, b.book.Advices) {
		if r.Floor {
			parts = append(parts, r.ID)
		}
	}
	for _, l := range about.Loosens {
		switch {
		case b.book.Review == nil:
			b.Suggest(l.At, toReview, "the floor is loosened, and nobody has reviewed the book")
		case !slices.Contains(parts, l.Floor):
			b.Unknown(l.At, "part of the floor", l.Floor, parts)
		case strings.TrimSpace(l.Why) == "":
			b.Add(l.At, "%q is loosened, and why: doesn't say for what reason", l.Floor)
		}
	}
	out := func(r *Rule) bool { return r.Floor && about.loosens(r.ID) }
	b.book.Rules, b.book.Advices = slices.DeleteFunc(b.book.Rules, out), slices.DeleteFunc(b.book.Advices, out)
}
