package selection

import (
	"math"
	"strconv"

	"drillwright/catalog"
	"drillwright/rules"
)

// dosed gives a unit its dose: both sides take the lighter, together or one after the other. It is false when the load
// that is left lies below what the drill starts at.
func (a *asked) dosed(j *rules.Judgement, u *unit) bool {
	for i, side := range u.sides {
		dose, ok := a.dose(j, u.drill, side)
		if !ok {
			return false
		}
		switch {
		case i == 0:
			u.dose = new(Dose)
			*u.dose = dose
		case lighterDose(&dose, u.dose):
			*u.dose = dose
		}
	}
	u.dose.Seconds = seconds(u.drill, u.dose, len(u.sides))
	return true
}

func lighterDose(a, b *Dose) bool {
	if a.EffortHigh != b.EffortHigh {
		return a.EffortHigh < b.EffortHigh
	}
	return work(a) < work(b)
}

// work is sets times repetitions, or seconds held, or metres.
func work(d *Dose) int { return d.Sets * max(d.RepsHigh, d.HoldHigh, d.Metres) }

// seconds is what a drill takes: setting up once, then every set with its rest on every side.
func seconds(d *catalog.Drill, dose *Dose, sides int) int {
	if d.Sides != catalog.OneSide {
		sides = 1
	}
	one := max(dose.RepsHigh, 1) * d.SecondsPerRep
	switch {
	case dose.HoldHigh > 0:
		one = dose.HoldHigh * max(dose.RepsHigh, 1)
	case dose.Metres > 0:
		one = dose.Metres // walking with a load: about a metre a second
	}
	return d.SetupSeconds + dose.Sets*sides*(one+dose.RestSeconds)
}

// dose picks the lightest of the doses that are not false, up to the first that is sure, and adjusts it.
func (a *asked) dose(j *rules.Judgement, d *catalog.Drill, side int) (Dose, bool) {
	var best *rules.Rule
	var dose Dose
	for r := range j.Relevant(rules.Dosing, d) {
		held := j.Held(r, d, side)
		if held&rules.Possible == 0 {
			continue
		}
		if one := doseOf(r, d); best == nil || lighterDose(&one, &dose) {
			best, dose = r, one
		}
		if held&rules.Sure != 0 {
			break
		}
	}
	v := a.adjusted(j, d, side, values(dose))
	dose = v.into(dose)
	return dose, a.load(d, side, v[loadPercent], &dose)
}

// doseOf takes from a dose what the drill is counted in: repetitions, seconds or metres.
func doseOf(r *rules.Rule, d *catalog.Drill) Dose {
	x := r.Dose
	dose := Dose{Rule: r.ID, Sets: x.Sets, Metres: x.Metres, Tempo: x.Tempo, RestSeconds: x.RestSeconds,
		PerWeek: x.PerWeek, PerDay: x.PerDay, PainCeiling: x.PainCeiling, Note: x.Note}
	dose.RepsLow, dose.RepsHigh = ends(x.Reps)
	dose.HoldLow, dose.HoldHigh = ends(x.HoldSeconds)
	dose.EffortLow, dose.EffortHigh = ends(x.Effort)
	if d.Unit != "metres" {
		dose.Metres = 0
	}
	return dose
}

func ends(list []int) (int, int) {
	if len(list) != 2 {
		return 0, 0
	}
	return list[0], list[1]
}

// variables of a dose that adjust rules may change, in the order of rules.Variables.
type variables [8]float64

const (
	sets = iota
	reps
	holdSeconds
	restSeconds
	effort
	loadPercent
	painCeiling
	perWeek
)

func values(d Dose) variables {
	return variables{sets: float64(d.Sets), reps: float64(d.RepsHigh), holdSeconds: float64(d.HoldHigh), restSeconds: float64(d.RestSeconds),
		effort: float64(d.EffortHigh), loadPercent: 100, painCeiling: float64(d.PainCeiling), perWeek: float64(d.PerWeek)}
}

// into writes the variables back. A lower end never lies above its upper.
func (v variables) into(d Dose) Dose {
	whole := func(which, least int) int { return max(least, int(math.Floor(v[which]+1e-9))) }
	if d.Sets > 0 {
		d.Sets = whole(sets, 1)
	}
	if d.RepsHigh > 0 {
		d.RepsHigh = whole(reps, 1)
	}
	if d.HoldHigh > 0 {
		d.HoldHigh = whole(holdSeconds, 1)
	}
	d.RestSeconds, d.EffortHigh = (whole(restSeconds, 0)+4)/5*5, whole(effort, 1)
	d.PainCeiling, d.PerWeek = min(rules.PainCeiling, whole(painCeiling, 0)), whole(perWeek, 0)
	d.RepsLow, d.HoldLow, d.EffortLow = min(d.RepsLow, d.RepsHigh), min(d.HoldLow, d.HoldHigh), min(d.EffortLow, d.EffortHigh)
	return d
}

// moves are what the rules that hold do to one variable, more rest being the cautious direction of rest.
type moves struct{ base, lowest, raise, limit float64 }

// adjusted applies the adjust rules: for each variable the single most cautious of the possible lowerings; with
// none, the smallest sure raise; then the caps.
func (a *asked) adjusted(j *rules.Judgement, d *catalog.Drill, side int, v variables) variables {
	none := math.Inf(1)
	var all [len(v)]moves
	for i, base := range v {
		all[i] = moves{base, none, none, none}
	}
	for r := range j.Relevant(rules.Adjust, d) {
		held := j.Held(r, d, side)
		if held&rules.Possible == 0 {
			continue
		}
		for _, c := range r.Adjust {
			all[c.Variable].add(c.Change, held&rules.Sure != 0, cautious(c.Variable))
		}
	}
	for i := range v {
		v[i] = all[i].value(cautious(i))
	}
	return v
}

// cautious is the sign that makes less of a variable the cautious direction.
func cautious(which int) float64 {
	if which == restSeconds {
		return -1
	}
	return 1
}

func (m *moves) add(c rules.Change, sure bool, cautious float64) {
	to, isCap := apply(c, m.base)
	switch moved := cautious * to; {
	case isCap:
		m.limit = min(m.limit, to)
	case moved < cautious*m.base:
		m.lowest = min(m.lowest, moved)
	case moved > cautious*m.base && sure:
		m.raise = min(m.raise, moved)
	}
}

func (m *moves) value(cautious float64) float64 {
	v := m.base
	switch {
	case !math.IsInf(m.lowest, 1):
		v = cautious * m.lowest
	case !math.IsInf(m.raise, 1):
		v = cautious * m.raise
	}
	return min(v, m.limit)
}

func apply(c rules.Change, base float64) (to float64, isCap bool) {
	switch {
	case c.Times != nil:
		return base * *c.Times, false
	case c.Add != nil:
		return base + *c.Add, false
	case c.Set != nil:
		return *c.Set, false
	default:
		return *c.Cap, true
	}
}

// testSet is what comes before the working sets.
func (a *asked) testSet(d *catalog.Drill, dose *Dose) TestSet {
	t := a.e.Book.Substitution.TestSet
	set := TestSet{PainCeiling: dose.PainCeiling, LoadPercent: t.LoadPercent}
	set.RepsLow, set.RepsHigh = ends(t.Reps)
	if dose.HoldHigh > 0 {
		set.RepsLow, set.RepsHigh, set.HoldSeconds = 0, 0, max(3, dose.HoldHigh/2)
	} else if dose.RepsHigh > 0 && dose.RepsHigh < set.RepsHigh {
		set.RepsLow, set.RepsHigh = dose.RepsLow, dose.RepsHigh
	}
	what := strconv.Itoa(set.RepsLow) + " to " + strconv.Itoa(set.RepsHigh) + " repetitions"
	if set.HoldSeconds > 0 {
		what = "One hold of " + strconv.Itoa(set.HoldSeconds) + " seconds"
	}
	at := "as lightly as it can be done"
	switch {
	case dose.LoadKg != nil:
		at = "with about " + rules.Figure(math.Max(d.Load.FloorKg, *dose.LoadKg*float64(t.LoadPercent)/100)) + " kg"
	case d.Lifted():
		at = "with about half the load you expect to use"
	}
	set.Words = what + " " + at + ". Pain above " + strconv.Itoa(dose.PainCeiling) + " of 10: stop and take the next drill in the list."
	return set
}
