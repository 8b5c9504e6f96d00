package selection

import (
	"slices"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// unit is a drill with the sides on which it may be trained, each with its dose. A two-side drill has one.
type unit struct {
	drill   *catalog.Drill
	verdict rules.Verdict
	// sides are places of sides, in the order to train; a two-side or midline drill lists both and trains them as one.
	sides  []int
	doses  []Dose
	points int // favours, the lower side
}

// unit judges a drill for the answer at hand. It is nil when no side of it may be trained.
func (a *asked) unit(j *rules.Judgement, d *catalog.Drill) *unit {
	verdicts := [2]rules.Verdict{j.Verdict(d, 0), j.Verdict(d, 1)}
	for side := range 2 {
		if _, ok := a.gate.allows(a.e, d, side); !ok {
			verdicts[side] = rules.NotToday
		}
	}
	u := &unit{drill: d}
	if d.Sides != catalog.OneSide {
		u.sides, u.verdict = []int{0, 1}, rules.Together(verdicts[0], verdicts[1])
		if u.verdict == rules.NotToday {
			return nil
		}
	} else {
		u.sides, u.verdict = a.oneSide(d, verdicts)
		if len(u.sides) == 0 {
			return nil
		}
	}
	if !a.dosed(j, u) {
		return nil
	}
	u.points = j.Favours(d, u.sides[0])
	for _, side := range u.sides[1:] {
		u.points = min(u.points, j.Favours(d, side))
	}
	return u
}

// oneSide orders the sides of a one-side drill: the limiting side first; a barred side is left out, and so is
// one that needs a test when the other is open.
func (a *asked) oneSide(d *catalog.Drill, verdicts [2]rules.Verdict) ([]int, rules.Verdict) {
	first := a.limiting(d)
	if first < 0 {
		first = a.weakerHand()
	}
	order := []int{first, 1 - first}
	for _, want := range []rules.Verdict{rules.Open, rules.TestFirst} {
		var sides []int
		for _, side := range order {
			if verdicts[side] == want {
				sides = append(sides, side)
			}
		}
		if len(sides) > 0 {
			return sides, want
		}
	}
	return nil, rules.NotToday
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

// reasons of a unit: what waits for a test, adjustments, the dose, what speaks for it; each by rule id. Cautions apart.
func (a *asked) reasons(j *rules.Judgement, u *unit) (cautions, reasons []Reason) {
	for _, r := range a.e.Book.Rules {
		for _, side := range u.sides {
			switch {
			case r.Effect == rules.Caution && j.Held(r, u.drill, side)&rules.Possible != 0,
				r.Effect == rules.Bar && j.Held(r, u.drill, side)&rules.Covered != 0:
				cautions = append(cautions, j.Reasons(r, u.drill, side)...)
			case j.Barred(r, u.drill, side) == rules.TestFirst,
				r.Effect == rules.Favour && j.Favoured(r, u.drill, side):
				reasons = append(reasons, j.Reasons(r, u.drill, side)...)
			}
		}
	}
	for i, side := range u.sides {
		if i < len(u.doses) {
			reasons = append(reasons, a.doseReasons(j, u.drill, side, u.doses[i])...)
		}
	}
	order := []string{"BAR", "ADJUST", "DOSE", "FAVOUR"}
	slices.SortStableFunc(reasons, func(x, y Reason) int {
		return slices.Index(order, x.Effect) - slices.Index(order, y.Effect)
	})
	return unique(cautions), unique(reasons)
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
