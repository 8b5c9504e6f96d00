package text

import (
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "drillwright/proto/drillwright/v1"
)

// dose says how much in one line.
func dose(d *pb.Dose) string {
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

func amount(d *pb.Dose) string {
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

func often(d *pb.Dose) string {
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
func (p *Page) sides(list []*pb.SideDose) {
	for i, s := range list {
		label := sentence(sideWord(s.GetSide()))
		label = label[:len(label)-1]
		if s.GetSide() != "BOTH" && len(list) > 1 {
			label = strconv.Itoa(i+1) + ". " + label
		}
		words := "the same dose"
		if i == 0 || !proto.Equal(list[i-1].GetDose(), s.GetDose()) {
			words = sentences(dose(s.GetDose()), s.GetDose().GetLoadWords(), s.GetDose().GetNote())
		}
		if s.GetSide() == "BOTH" {
			p.field(4, label, words)
			continue
		}
		p.field(4, label, sentences(words, s.GetWords()))
	}
}

// drillLines is what a person doing the drill reads beside the dose.
func (p *Page) drillLines(d *pb.DrillCard, test *pb.TestSet, cautions []*pb.Reason) {
	p.field(4, "Test set first", sentence(test.GetWords()))
	p.field(4, "How", sentences(d.GetCues()...))
	p.field(4, "Stop if", sentence(d.GetStopIf()))
	for i, c := range cautions {
		p.field(4, repeated("Take care", i), reason(c))
	}
}

// reasons writes the why of a drill, the rules that decide first.
func (p *Page) reasons(list []*pb.Reason) {
	for i, r := range list {
		p.field(4, repeated("Why", i), reason(r))
	}
}

// repeated is a label on its first line, and blank on the lines below it.
func repeated(label string, i int) string {
	if i > 0 {
		return ""
	}
	return label
}

// reason is a rule in words, with what is not sure of it, its points and its source.
func reason(r *pb.Reason) string {
	words := sentence(r.GetWords())
	switch {
	case r.GetStanding() == pb.ReasonStanding_UNTESTED:
		words = "Needs a test first: " + r.GetWords()
	case r.GetStanding() == pb.ReasonStanding_NOT_RULED_OUT:
		words = sentences(words, "Not ruled out")
	case r.GetPoints() != 0:
		words = "(" + signed(r.GetPoints()) + ") " + words
	}
	return cited(words, r.GetSource())
}
