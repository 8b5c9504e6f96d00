package text

import (
	"fmt"
	"slices"
	"strings"

	v1 "drillwright/proto/drillwright/v1"
)

// Select writes a session as a sheet to train from.
func (p *Page) Select(r *v1.SelectResponse) {
	h := r.GetHeader()
	p.heading(r.GetPlanName()+", "+count(r.GetMinutes(), "minute"), h)
	p.screening(h)
	if !h.GetScreening().GetNoDrills() {
		p.session(r)
		p.totals(r)
	}
	p.leftOut(r.GetLeftOut())
	p.closing(h)
}

// purposes of a session's places, in the order to train.
var purposes = map[string]string{"prepare": "Prepare", "train": "Train", "finish": "Finish"}

func (p *Page) session(r *v1.SelectResponse) {
	var all [][]*v1.Reason
	for _, d := range r.GetDrills() {
		all = append(all, slices.Concat(d.GetCautions(), d.GetReasons()))
	}
	shared := sharedBy(all)
	if len(shared) > 0 {
		p.section("For the whole session")
		p.reasons(shared)
	}
	purpose := ""
	for i, d := range r.GetDrills() {
		if now := strings.ToLower(d.GetPurpose()); now != purpose {
			purpose = now
			p.section(purposes[now])
		} else {
			p.out.WriteByte('\n')
		}
		p.sessionDrill(i, d, without(all[i], shared))
	}
	if len(r.GetDrills()) == 0 {
		p.section("Session")
		p.line(2, "No drill is open today for this plan.")
	}
}

func (p *Page) sessionDrill(i int, s *v1.SessionDrill, reasons []*v1.Reason) {
	d := s.GetDrill()
	p.write(fmt.Sprintf("%2d. ", i+1), "    ", d.GetName(), bold)
	p.line(4, strings.Join([]string{s.GetSlotName(), d.GetStation(), minutes(s.GetSides()[0].GetDose().GetSeconds())}, " · "))
	p.sides(s.GetSides())
	p.drillLines(d, s.GetTestSet())
	p.field(4, "Or, if taken", backups(s.GetBackups()))
	p.reasons(reasons)
}

func backups(list []*v1.Backup) string {
	var words []string
	for _, b := range list {
		words = append(words, b.GetName()+" ("+b.GetStation()+")")
	}
	return strings.Join(words, "; ")
}

func (p *Page) totals(r *v1.SelectResponse) {
	p.section("Totals")
	p.line(2, fmt.Sprintf("%s in %s of %s; %s by the book.", count(int32(len(r.GetDrills())), "drill"),
		minutes(r.GetSeconds()), minutes(60*r.GetMinutes()), count(r.GetPoints(), "point")))
	for _, l := range r.GetLimits() {
		p.item(2, "-", limit(l))
	}
	for _, e := range r.GetEmpty() {
		p.item(2, "-", sentence("empty: "+e.GetName()+", "+e.GetWords()))
	}
}

// limit says how a session stands to a limit: "pull at least matches push: 1, at least 0; kept".
func limit(l *v1.LimitState) string {
	words := l.GetName() + ": " + figure(l.GetValue())
	if l.Low != nil {
		words += ", at least " + figure(l.GetLow())
	}
	if l.High != nil {
		words += ", at most " + figure(l.GetHigh())
	}
	if l.GetMet() {
		return sentence(words + "; kept")
	}
	return sentence(words + "; NOT kept")
}
