package text

import (
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
)

// dose says how much in one line.
func dose(d *v1.Dose) string {
	parts := []string{amount(d)}
	if tempo := tempo(d.GetTempo()); tempo != "" {
		parts = append(parts, tempo)
	}
	if d.GetRestSeconds() > 0 {
		parts = append(parts, "rest "+minutes(d.GetRestSeconds()))
	}
	if d.GetEffortHigh() > 0 {
		parts = append(parts, "effort "+span(d.GetEffortLow(), d.GetEffortHigh())+" of 10")
	}
	parts = append(parts, "pain at most "+strconv.Itoa(int(d.GetPainCeiling()))+" of 10")
	if often := often(d); often != "" {
		parts = append(parts, often)
	}
	return sentence(strings.Join(parts, ", "))
}

func amount(d *v1.Dose) string {
	sets := count(d.GetSets(), "set")
	switch {
	case d.GetMetres() > 0:
		return sets + " of " + count(d.GetMetres(), "metre")
	case d.GetHoldHighSeconds() > 0 && d.GetRepsHigh() > 0:
		return sets + " of " + span(d.GetRepsLow(), d.GetRepsHigh()) + " holds of " + span(d.GetHoldLowSeconds(), d.GetHoldHighSeconds()) + " s"
	case d.GetHoldHighSeconds() > 0:
		return strings.Replace(sets, "set", "hold", 1) + " of " + span(d.GetHoldLowSeconds(), d.GetHoldHighSeconds()) + " s"
	default:
		return sets + " of " + span(d.GetRepsLow(), d.GetRepsHigh())
	}
}

// tempo spells out "2-1-3".
func tempo(t string) string {
	parts := strings.Split(t, "-")
	if len(parts) != 3 {
		return t
	}
	words := []string{parts[0] + " s down"}
	if parts[1] != "0" {
		words = append(words, parts[1]+" s still")
	}
	return strings.Join(append(words, parts[2]+" s up"), " ")
}

func often(d *v1.Dose) string {
	var parts []string
	if d.GetPerDay() > 1 {
		parts = append(parts, strconv.Itoa(int(d.GetPerDay()))+" times a day")
	}
	switch n := d.GetPerWeek(); {
	case n >= 7:
		parts = append(parts, "every day")
	case n > 0:
		parts = append(parts, count(n, "day")+" a week")
	}
	return strings.Join(parts, ", ")
}

// sides writes each side in the order to train; a dose that repeats the one before is not written out again.
func (p *Page) sides(list []*v1.SideDose) {
	for i, s := range list {
		label := capital(sideWord(s.GetSide()))
		if len(list) > 1 {
			label = strconv.Itoa(i+1) + ". " + label
		}
		p.field(4, label, sideText(list, i))
	}
}

func sideText(list []*v1.SideDose, i int) string {
	s := list[i]
	words := s.GetWords()
	switch {
	case s.GetSide() == "BOTH":
		words = ""
	case i > 0 && proto.Equal(list[i-1].GetDose(), s.GetDose()):
		return sentences("The same dose", words)
	}
	return sentences(dose(s.GetDose()), s.GetDose().GetLoadWords(), s.GetDose().GetNote(), words)
}

// drillLines is what a person doing the drill reads beside the dose.
func (p *Page) drillLines(d *v1.DrillCard, test *v1.TestSet) {
	failed, next := test.GetFailed(), test.GetNextMorning()
	switch failedAgain, nextAgain := failed != "" && failed == p.failed, next != "" && next == p.nextMorning; {
	case failedAgain && nextAgain:
		failed, next = "Failed, and the next morning: as above.", ""
	case failedAgain:
		failed, p.nextMorning = "Failed: as above.", next
	case failed != "":
		p.failed, p.nextMorning = failed, next
	}
	p.field(4, "Test set first", sentences(test.GetWords(), test.GetPassed(), failed))
	p.field(4, "Next morning", sentences(next))
	p.field(4, "How", sentences(d.GetCues()...))
	p.field(4, "Stop if", sentence(d.GetStopIf()))
}

// reasons writes rules in words, those of one kind under one label.
func (p *Page) reasons(list []*v1.Reason) {
	last := ""
	for _, r := range list {
		if gaveNothing(r) {
			continue
		}
		label := reasonLabel(r)
		if label == last {
			label = ""
		} else {
			last = label
		}
		p.field(4, label, reason(r))
	}
}

// repeated is a label on its first line, and blank on the lines below it.
func repeated(label string, i int) string {
	if i > 0 {
		return ""
	}
	return label
}

// gaveNothing is true for points that would have been given, had a measure been known.
func gaveNothing(r *v1.Reason) bool {
	return r.GetEffect() == v1.Effect_FAVOUR && r.GetStanding() != v1.ReasonStanding_HOLDS && r.GetPoints() >= 0
}

func reasonLabel(r *v1.Reason) string {
	switch {
	case r.GetStanding() == v1.ReasonStanding_UNTESTED:
		return "Test first"
	case r.GetEffect() == v1.Effect_ADJUST || r.GetEffect() == v1.Effect_DOSE:
		return "Why this dose"
	case r.GetEffect() == v1.Effect_FAVOUR:
		return "Why this drill"
	default:
		return "Take care"
	}
}

// reason is a rule in words, with what is not sure of it, its points and its source.
func reason(r *v1.Reason) string {
	words := sentence(r.GetWords())
	if r.GetStanding() == v1.ReasonStanding_NOT_RULED_OUT {
		words = notRuledOut(words)
	}
	if r.GetPoints() != 0 {
		words = "(" + signed(r.GetPoints()) + ") " + words
	}
	return cited(words, r.GetSource())
}

// notRuledOut marks what isn't sure, where its words don't say so.
func notRuledOut(words string) string {
	const mark = "Not ruled out"
	if strings.HasPrefix(words, mark) {
		return words
	}
	return mark + ": " + words
}

// sharedBy takes the reasons that every list has: they are said once.
func sharedBy(lists [][]*v1.Reason) []*v1.Reason {
	if len(lists) < 2 {
		return nil
	}
	var shared []*v1.Reason
	for _, r := range lists[0] {
		everywhere := true
		for _, other := range lists[1:] {
			everywhere = everywhere && has(other, r)
		}
		if everywhere {
			shared = append(shared, r)
		}
	}
	return shared
}

func has(list []*v1.Reason, r *v1.Reason) bool {
	return slices.ContainsFunc(list, func(x *v1.Reason) bool {
		return x.GetRule() == r.GetRule() && x.GetWords() == r.GetWords() && x.GetStanding() == r.GetStanding()
	})
}

// without leaves out what was said once for all.
func without(list, shared []*v1.Reason) []*v1.Reason {
	return slices.DeleteFunc(slices.Clone(list), func(r *v1.Reason) bool { return has(shared, r) })
}

// forAll writes what goes for every drill of a list, and returns it.
func (p *Page) forAll(lists [][]*v1.Reason) []*v1.Reason {
	shared := sharedBy(lists)
	if len(shared) > 0 {
		p.line(2, "For every one of these:")
		p.reasons(shared)
		p.out.WriteByte('\n')
	}
	return shared
}
