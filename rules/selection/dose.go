package selection

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules"
)

// sideDose is the dose that one side would have by itself.
type sideDose struct {
	Dose
	load // by the log, what adjusts it, and a clinician
	side int
	by   *rules.Rule // the dose of the book that it comes from
}

// dosed gives the sides of a unit their doses. Sides that work together do the same: of each variable the more cautious of
// what they would have by themselves. Of two that work one after the other the second does no more than the limiting side,
// and no more than its own dose. It is false when the load that is left on a side lies below what the drill starts at.
func (a *asked) dosed(j *rules.Judgement, u *trainable) bool {
	var own [2]sideDose
	for _, side := range u.sides {
		var enough bool
		if own[side], enough = a.doseOn(j, u.drill, side); !enough {
			return false
		}
	}
	oneSide, first := u.drill.Sides == catalog.OneSide, u.sides[0]
	if then := 1 - first; len(u.sides) == 2 && (!oneSide || a.limiting(u.drill) == first) {
		second := own[then].load
		if own[then] = a.together(j, u.drill, &own[first], &own[then]); oneSide {
			own[then].load = second.after(&own[first].load)
		}
		if !oneSide {
			own[first] = own[then]
		}
	}
	u.seconds = u.drill.SetupSeconds
	for i, side := range u.sides {
		a.nameLoad(u.drill, &own[side])
		u.dose[side], u.load[side] = &own[side].Dose, own[side].load
		if oneSide || i == 0 {
			u.seconds += seconds(u.drill, u.dose[side])
		}
	}
	for _, side := range u.sides {
		u.dose[side].Seconds = u.seconds
	}
	if !oneSide {
		u.dose[1-first] = u.dose[first]
	}
	return true
}

// together takes of each variable the more cautious of two sides. Of two that are counted otherwise, one held and one
// repeated, the lighter goes for both, as the rules of either side adjust it.
func (a *asked) together(j *rules.Judgement, d *catalog.Drill, x, y *sideDose) sideDose {
	index := func(s *sideDose) int { return slices.Index(a.e.Book.Doses, s.by) }
	if cmp.Or(lighter(&x.Dose, &y.Dose), cmp.Compare(index(x), index(y))) > 0 {
		x, y = y, x
	}
	out, as := *x, y.Dose
	if (x.RepsHigh > 0) != (y.RepsHigh > 0) || (x.HoldHigh > 0) != (y.HoldHigh > 0) || (x.Metres > 0) != (y.Metres > 0) {
		as, _ = a.adjusted(j, d, y.side, doseOf(x.by, d))
	}
	out.Sets = min(x.Sets, y.Sets, as.Sets)
	out.RepsLow, out.RepsHigh = min(x.RepsLow, as.RepsLow), min(x.RepsHigh, as.RepsHigh)
	out.HoldLow, out.HoldHigh = min(x.HoldLow, as.HoldLow), min(x.HoldHigh, as.HoldHigh)
	out.Metres, out.Tempo, out.RestSeconds = min(x.Metres, as.Metres), slower(x.Tempo, as.Tempo), max(x.RestSeconds, y.RestSeconds)
	out.EffortLow, out.EffortHigh = min(x.EffortLow, y.EffortLow), min(x.EffortHigh, y.EffortHigh)
	out.PerWeek, out.PerDay = fewer(x.PerWeek, y.PerWeek), fewer(x.PerDay, y.PerDay)
	out.PainCeiling, out.load = min(x.PainCeiling, y.PainCeiling), lesser(&x.load, &y.load)
	if x.Note != y.Note {
		out.Note = strings.TrimSpace(x.Note + " " + y.Note)
	}
	before := x.Dose
	before.Note = out.Note
	if x.by != y.by && out.Dose != before {
		out.With = y.Rule
	}
	return out
}

// fewer is the lesser of two numbers; one that isn't told is 0.
func fewer(x, y int) int {
	if x == 0 || y == 0 {
		return max(x, y)
	}
	return min(x, y)
}

// slower is the tempo that takes more seconds, and of two that take the same the one that lowers for longer. One that isn't
// told gives way.
func slower(x, y string) string {
	if c := cmp.Or(cmp.Compare(beats(x), beats(y)), cmp.Compare(x, y)); c < 0 {
		return y
	}
	return x
}

// beats adds up the seconds of a tempo such as 2-1-3.
func beats(tempo string) int {
	sum := 0
	for part := range strings.SplitSeq(tempo, "-") {
		n, _ := strconv.Atoi(part)
		sum += n
	}
	return sum
}

// lighter is negative when the first dose is the lighter: by effort, then by what is done.
func lighter(x, y *Dose) int {
	return cmp.Or(cmp.Compare(x.EffortHigh, y.EffortHigh), cmp.Compare(work(x), work(y)))
}

// work is sets times repetitions, or seconds held, or metres.
func work(d *Dose) int { return d.Sets * max(d.RepsHigh, d.HoldHigh, d.Metres) }

// seconds is what the sets of a dose take on one side, or on both at once, each with its rest.
func seconds(d *catalog.Drill, dose *Dose) int {
	one := max(dose.RepsHigh, 1) * d.SecondsPerRep
	switch {
	case dose.HoldHigh > 0:
		one = dose.HoldHigh * max(dose.RepsHigh, 1)
	case dose.Metres > 0:
		one = dose.Metres // walking with a load: about a metre a second
	}
	return dose.Sets * (one + dose.RestSeconds)
}

// doseOn picks for one side the lightest of the doses that are not false, up to the first that is sure, and adjusts it.
func (a *asked) doseOn(j *rules.Judgement, d *catalog.Drill, side int) (own sideDose, ok bool) {
	for r := range j.Applicable(rules.Dosing, d) {
		held := j.Held(r, d, side)
		if held&rules.Possible == 0 {
			continue
		}
		if one := doseOf(r, d); own.by == nil || lighter(&one, &own.Dose) < 0 {
			own.by, own.Dose = r, one
		}
		if held&rules.Sure != 0 {
			break
		}
	}
	own.side = side
	percent := 0.0
	own.Dose, percent = a.adjusted(j, d, side, own.Dose)
	return own, a.weighed(d, percent, &own)
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
// none, the smallest sure raise; then the caps. It says how much of the load is left, in percent.
func (a *asked) adjusted(j *rules.Judgement, d *catalog.Drill, side int, dose Dose) (Dose, float64) {
	v, none := values(dose), math.Inf(1)
	var all [len(v)]moves
	for i, base := range v {
		all[i] = moves{base, none, none, none}
	}
	for r := range j.Applicable(rules.Adjust, d) {
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
	return v.into(dose), v[loadPercent]
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

// raises is whether a change makes more of a variable, whatever it was.
func raises(c rules.Adjustment) bool {
	least, most := 1.0, 1000.0
	for _, base := range []float64{least, most} {
		if to, isCap := apply(c.Change, base); isCap || cautious(c.Variable)*to <= cautious(c.Variable)*base {
			return false
		}
	}
	return true
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
