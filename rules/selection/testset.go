package selection

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// testSet is what comes before the working sets, the same for every side: by the lightest load and the lowest ceiling.
func (a *asked) testSet(u *trainable) TestSet {
	d, t, dose := u.drill, &a.e.Book.Substitution.TestSet, *u.first()
	load := dose.LoadKg
	for _, side := range u.sides {
		own := u.dose[side]
		dose.RepsLow, dose.RepsHigh = min(dose.RepsLow, own.RepsLow), min(dose.RepsHigh, own.RepsHigh)
		dose.HoldHigh, dose.PainCeiling = min(dose.HoldHigh, own.HoldHigh), min(dose.PainCeiling, own.PainCeiling)
		if load != nil && (own.LoadKg == nil || *own.LoadKg < *load) {
			load = own.LoadKg
		}
	}
	set := TestSet{PainCeiling: dose.PainCeiling, LoadPercent: t.LoadPercent}
	set.RepsLow, set.RepsHigh = ends(t.Reps)
	if d.Loads && d.Lifted() {
		set.LoadKg = new(testKg(d, load, float64(t.LoadPercent)))
		if load != nil && d.Load.FloorKg > *load*t.Heavy.FromPercent/100 {
			set.RepsLow, set.RepsHigh = t.Heavy.Reps, t.Heavy.Reps
		}
	}
	metres := max(5, dose.Metres/2)
	if dose.HoldHigh > 0 {
		set.RepsLow, set.RepsHigh, set.HoldSeconds = 0, 0, max(3, dose.HoldHigh/2)
	} else if dose.Metres > 0 {
		set.RepsLow, set.RepsHigh = 0, 0
	} else if dose.RepsHigh > 0 && dose.RepsHigh < set.RepsHigh {
		set.RepsLow, set.RepsHigh = min(dose.RepsLow, set.RepsLow), dose.RepsHigh
	}
	what := set.what(d, metres)
	if regions := a.soreOf(u); len(regions) > 0 {
		a.soreTest(&set, u, regions)
		set.Words = what + "."
		return set
	}
	set.Words = what + ". Pain above " + strconv.Itoa(dose.PainCeiling) + " of 10: stop and take the next drill in the list."
	return set
}

// testKg is so much of the load, rounded down to the step, and the lightest where that is less or no load is known.
func testKg(d *catalog.Drill, load *float64, percent float64) float64 {
	if load == nil {
		return d.Load.FloorKg
	}
	steps := math.Floor((*load*percent/100-d.Load.FloorKg)/d.Load.StepKg + 1e-9)
	return d.Load.FloorKg + max(0, steps)*d.Load.StepKg
}

// what is how much is done, with which load.
func (t *TestSet) what(d *catalog.Drill, metres int) string {
	what := "One hold of " + strconv.Itoa(t.HoldSeconds) + " seconds"
	switch {
	case t.HoldSeconds > 0 && d.Speed != "hold":
		what = strconv.Itoa(t.HoldSeconds) + " seconds"
	case t.HoldSeconds > 0:
	case t.RepsHigh == 0:
		what = strconv.Itoa(metres) + " metres"
	default:
		what = strconv.Itoa(t.RepsHigh) + " slow repetitions"
		if t.RepsLow != t.RepsHigh {
			what = strconv.Itoa(t.RepsLow) + " to " + what
		}
	}
	switch {
	case t.LoadKg == nil:
		return what + " as lightly as it can be done"
	case *t.LoadKg == d.Load.FloorKg:
		return what + " with the lightest there is, " + kilograms(*t.LoadKg)
	}
	return what + " with " + kilograms(*t.LoadKg)
}

// soreTest says when the set is passed where the drill loads what hurts, and what follows.
func (a *asked) soreTest(set *TestSet, u *trainable, regions []soreRegion) {
	t := &a.e.Book.Substitution.TestSet.Sore
	for _, r := range regions {
		if reported, known := a.toldPain(r); known {
			set.PainCeiling = min(set.PainCeiling, max(t.PainLeast, int(math.Floor(reported))-t.PainLess))
		}
	}
	w := a.sayOf(regions)
	rising := "not rising from one repetition to the next"
	switch {
	case set.HoldSeconds > 0 && u.drill.Speed == "hold":
		rising = "not rising while it is held"
	case set.RepsHigh == 0:
		rising = "not rising on the way"
	}
	set.Passed = "Passed: pain of no more than " + strconv.Itoa(set.PainCeiling) + " of 10, " + rising + ", gone back within " +
		number(t.GoneWithinMinutes, "minute") + "."
	if set.PainCeiling == 0 {
		set.Passed = "Passed: no pain at all, during it or after."
	}
	set.Failed, set.NextMorning = w.failed, w.known
	if !slices.ContainsFunc(a.q.Profile.Log, func(s client.LoggedSet) bool { return s.Drill == u.drill.ID }) {
		set.NextMorning = w.fresh
	}
	if u.drill.Loads && u.drill.Lifted() {
		set.NextMorning += " No worse: at most " + figure(a.start().RisePercent) + " % more next time."
	}
}

// testWords are what a test says of regions that hurt: an answer tests several drills for the same.
type testWords struct {
	of                   []soreRegion
	failed, known, fresh string // a drill that is known from the log, and one that is new to it
}

func (a *asked) sayOf(regions []soreRegion) *testWords {
	if slices.Equal(a.words.of, regions) {
		return &a.words
	}
	t, where := &a.e.Book.Substitution.TestSet.Sore, a.spoken(regions)
	settle := strconv.Itoa(t.NextDayAbove) + " or more above usual, or over " + number(t.SettleHours, "hour") +
		" to settle: not this drill again."
	a.words = testWords{
		of: regions,
		failed: "Failed: take the next drill in the list; after " + number(t.Fails, "drill") + " that fail, nothing more for " + where +
			" today. Anything sharp, catching, slipping, tingling, numb or weak ends it, and " + where + " for today.",
		known: "Score the next morning: " + settle,
		fresh: "New to the log: " + number(t.NewDrills, "such drill") + " for " + where + " a session, at most " +
			number(t.Sets, "working set") + " at an effort of " + strconv.Itoa(t.Effort) + ", then " + number(t.RestDays, "day") +
			" between, until the next morning is scored. " + settle,
	}
	return &a.words
}

// soreRegion is a region that hurts, on a side of the body.
type soreRegion struct {
	region string
	on     int
}

// soreOf are the regions that hurt and that a unit loads while its sides work, in the order of the vocabulary, left before right.
func (a *asked) soreOf(u *trainable) []soreRegion {
	var out []soreRegion
	for _, side := range u.sides {
		for region, on := range a.soreRegions(u.drill, side) {
			if !a.e.Frame.Vocabulary.Sided(region) {
				on = 0
			}
			if r := (soreRegion{region, on}); !slices.Contains(out, r) {
				out = append(out, r)
			}
		}
	}
	index := func(r soreRegion) int { return a.e.Frame.Vocabulary.Index("region", r.region) }
	slices.SortFunc(out, func(x, y soreRegion) int { return cmp.Or(cmp.Compare(index(x), index(y)), cmp.Compare(x.on, y.on)) })
	return out
}

// toldPain is the least that was told of the pain of a region: of a complaint, or without one the worst of its score.
func (a *asked) toldPain(r soreRegion) (pain float64, known bool) {
	for i := range a.q.Complaints {
		c := &a.q.Complaints[i]
		if c.Region == r.region && (!a.e.Frame.Vocabulary.Sided(r.region) || c.Side.On(r.on)) && (!known || c.Intensity < pain) {
			pain, known = c.Intensity, true
		}
	}
	if worst := a.facts.Number("client.pain."+r.region+".worst", r.on); !known && worst.Known() {
		return worst.Lo, true
	}
	return pain, known
}

// spoken are regions as people say them, whichever side comes first: the lower back, both hips and the left knee.
func (a *asked) spoken(regions []soreRegion) string {
	var names []string
	for i, r := range regions {
		name := lowerFirst(a.e.Frame.Vocabulary.Name("region", r.region))
		switch {
		case !a.e.Frame.Vocabulary.Sided(r.region):
			names = append(names, "the "+name)
		case i > 0 && regions[i-1].region == r.region:
			names[len(names)-1] = "both " + name + "s"
		default:
			names = append(names, "the "+strings.ToLower(string(client.Sides[r.on]))+" "+name)
		}
	}
	if last := len(names) - 1; last > 0 {
		return strings.Join(names[:last], ", ") + " and " + names[last]
	}
	return names[0]
}

// number is how many of something, in a word where it is few.
func number(n int, what string) string {
	words := [...]string{"no", "one", "two", "three", "four", "five", "six"}
	count := strconv.Itoa(n)
	if n < len(words) {
		count = words[n]
	}
	if n == 1 {
		return count + " " + what
	}
	return count + " " + what + "s"
}
