package selection

import (
	"math"
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// unit is a drill with the sides on which it may be trained. A two-side or midline drill lists both and trains them
// as one.
type unit struct {
	drill   *catalog.Drill
	verdict rules.Verdict
	points  int // favours, the lower side

	open  [2]bool
	sides []int // in the order to train; set by ready
	doses []Dose
}

// unit judges a drill for the answer at hand. It is false when no side of it may be trained.
func (a *asked) unit(j *rules.Judgement, d *catalog.Drill) (unit, bool) {
	verdicts := [2]rules.Verdict{a.verdict(j, d, 0), a.verdict(j, d, 1)}
	u := unit{drill: d}
	if d.Sides != catalog.OneSide {
		u.open, u.verdict = [2]bool{true, true}, rules.Together(verdicts[0], verdicts[1])
	} else {
		u.open, u.verdict = oneSide(verdicts)
	}
	if u.verdict == rules.NotToday {
		return u, false
	}
	u.points = math.MaxInt
	for side, open := range u.open {
		if open {
			u.points = min(u.points, j.Favours(d, side))
		}
	}
	return u, !a.loadMayFall(d) || a.ready(j, &u)
}

// verdict is the book's, unless screening closes the drill.
func (a *asked) verdict(j *rules.Judgement, d *catalog.Drill, side int) rules.Verdict {
	v := j.Verdict(d, side)
	if v != rules.NotToday && a.gate.closes() {
		if _, ok := a.gate.allows(a.e, d, side); !ok {
			return rules.NotToday
		}
	}
	return v
}

// oneSide is the open sides of a one-side drill; those that need a test only when none is open.
func oneSide(verdicts [2]rules.Verdict) ([2]bool, rules.Verdict) {
	for _, want := range []rules.Verdict{rules.Open, rules.TestFirst} {
		if open := [2]bool{verdicts[0] == want, verdicts[1] == want}; open[0] || open[1] {
			return open, want
		}
	}
	return [2]bool{}, rules.NotToday
}

// ready puts the sides in the order to train, the limiting side first, and doses them. It is false when the load
// that is left lies below what the drill starts at.
func (a *asked) ready(j *rules.Judgement, u *unit) bool {
	if u.sides != nil {
		return true
	}
	first := catalog.Left
	if u.drill.Sides == catalog.OneSide {
		if first = a.limiting(u.drill); first < 0 {
			first = a.weakerHand()
		}
	}
	for _, side := range [2]int{first, 1 - first} {
		if u.open[side] {
			u.sides = append(u.sides, side)
		}
	}
	return a.dosed(j, u)
}

// second is the second look: each side of a drill about to be returned is judged once more on its own.
func (a *asked) second(j *rules.Judgement, u *unit) bool {
	for side, open := range u.open {
		if open && !j.SecondLook(u.drill, side) {
			return false
		}
	}
	return true
}

// weakerHand is the side that isn't the dominant one; the left when nobody told.
func (a *asked) weakerHand() int {
	if a.q.Profile.DominantSide == client.SideLeft {
		return catalog.Right
	}
	return catalog.Left
}

// limiting is the side that sets the pace of a drill: the lower rung in a region that it drives; then the
// stronger complaint; then clearly less strength or hold; then clearly less range. -1: either.
func (a *asked) limiting(d *catalog.Drill) int {
	f := a.facts
	lower := func(path string) int { return compareSides(f.Number(path, 0).Lo, f.Number(path, 1).Lo) }
	driven := drivenRegions(d)
	for _, r := range driven {
		if side := lower("client.rung." + r); side >= 0 {
			return side
		}
	}
	for _, r := range driven {
		path := "request.complaint." + r + ".intensity"
		if side := compareSides(f.Number(path, 1).Lo, f.Number(path, 0).Lo); side >= 0 {
			return side
		}
	}
	gaps := a.e.Frame.Measures.LimitingGap
	for _, kind := range []struct {
		path string
		gap  float64
	}{{"client.gap.strength.", gaps.StrengthPercent}, {"client.gap.hold.", gaps.HoldPercent}, {"client.gap.range.", gaps.RangeDeg}} {
		for _, m := range a.e.Frame.Vocabulary.Motions {
			if !slices.Contains(driven, m.Region) || kind.path == "client.gap.range." && !m.HasRange() {
				continue
			}
			for side := range 2 {
				if gap := f.Number(kind.path+m.ID, side); gap.Known() && gap.Lo >= kind.gap {
					return side
				}
			}
		}
	}
	return -1
}

// compareSides is the side with the lower of two values; -1 when they are equal.
func compareSides(left, right float64) int {
	switch {
	case left < right:
		return 0
	case right < left:
		return 1
	}
	return -1
}

func drivenRegions(d *catalog.Drill) []string {
	var ids []string
	for _, load := range d.Rows[0].Regions {
		if load.Role == "drive" {
			ids = append(ids, load.Region)
		}
	}
	return ids
}

// sideDoses puts the sides in order with their words.
func (a *asked) sideDoses(u *unit) []SideDose {
	if u.drill.Sides != catalog.OneSide {
		return []SideDose{{Side: "BOTH", Dose: u.doses[0], Words: "Both sides together."}}
	}
	limiting := a.limiting(u.drill)
	var out []SideDose
	for i, side := range u.sides {
		name := strings.ToLower(string(client.Sides[side]))
		words := "Either side first."
		if a.q.Profile.DominantSide != client.SideNone {
			words = "The " + name + " side first: the other is the dominant one."
		}
		switch {
		case len(u.sides) == 1 && limiting == 1-side:
			words = "The " + name + " side only: the " + strings.ToLower(string(client.Sides[1-side])) + " is not open today; this side trains on."
		case len(u.sides) == 1:
			words = "The " + name + " side only."
		case limiting >= 0 && i == 0:
			words = "The " + name + " side first: it sets the pace."
		case limiting >= 0:
			words = "Then the " + name + " side: the same repetitions and load, no more."
		case i == 1:
			words = "Then the other side, the same."
		}
		out = append(out, SideDose{Side: string(client.Sides[side]), Dose: u.doses[i], Words: words})
	}
	return out
}

// cautions of a unit, by rule id.
func (a *asked) cautions(j *rules.Judgement, u *unit) []Reason {
	var out []Reason
	for _, r := range a.warnings() {
		for _, side := range u.sides {
			if h := j.Held(r, u.drill, side); r.Effect == rules.Caution && h&rules.Possible != 0 || h&rules.Covered != 0 {
				out = append(out, j.Reasons(r, u.drill, side)...)
			}
		}
	}
	return unique(out)
}

// warnings are the rules that can warn of a drill: cautions, and bars that a clearance can turn into one.
func (a *asked) warnings() []*rules.Rule {
	if len(a.facts.Covered[0])+len(a.facts.Covered[1]) == 0 {
		return a.e.Book.Of(rules.Caution)
	}
	var out []*rules.Rule
	for _, r := range a.e.Book.Rules {
		if r.Effect == rules.Caution || r.Effect == rules.Bar {
			out = append(out, r)
		}
	}
	return out
}

// untested are the bars of a unit that wait for a test.
func (a *asked) untested(j *rules.Judgement, u *unit) []Reason {
	var out []Reason
	if u.verdict != rules.TestFirst {
		return nil
	}
	for _, r := range a.e.Book.Of(rules.Bar) {
		for _, side := range u.sides {
			if j.Barred(r, u.drill, side) == rules.TestFirst {
				out = append(out, j.Reasons(r, u.drill, side)...)
			}
		}
	}
	return out
}

// reasons of a unit: what waits for a test, adjustments, the dose, what speaks for it; each by rule id.
func (a *asked) reasons(j *rules.Judgement, u *unit) []Reason {
	out := a.untested(j, u)
	for _, r := range a.e.Book.Of(rules.Adjust) {
		for _, side := range u.sides[:len(u.doses)] {
			if !r.Floor && j.Held(r, u.drill, side)&rules.Possible != 0 {
				out = append(out, j.Reasons(r, u.drill, side)...)
			}
		}
	}
	for i, dose := range u.doses {
		if r := a.e.Book.Dose(dose.Rule); r != nil {
			out = append(out, j.Reasons(r, u.drill, u.sides[i])...)
		}
	}
	for _, r := range a.e.Book.Of(rules.Favour) {
		for _, side := range u.sides {
			if j.Favoured(r, u.drill, side) {
				out = append(out, j.Reasons(r, u.drill, side)...)
			}
		}
	}
	return unique(out)
}

// unique drops reasons that say the same of the same side, and joins those that say the same of both.
func unique(list []Reason) []Reason {
	var out []Reason
	for _, r := range list {
		at := slices.IndexFunc(out, func(have Reason) bool { return have.Rule == r.Rule && have.Words == r.Words })
		switch {
		case at < 0:
			out = append(out, r)
		case out[at].Side != r.Side:
			out[at].Side = ""
		}
	}
	return out
}
