package selection

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// lesser is the load that stands for two sides that work together: it is known where that of both is, and never above either. Of the
// same from different sets it is the same whichever side is which.
func lesser(x, y *load) load {
	if (x.set == nil) != (y.set == nil) {
		if x.set != nil {
			x, y = y, x
		}
		return x.under(y)
	}
	order := cmp.Or(cmp.Compare(x.most, y.most), cmp.Compare(x.bound, y.bound))
	if order == 0 && x.set != nil {
		order = cmp.Or(cmp.Compare(x.percent, y.percent), cmp.Compare(x.why, y.why), cmp.Compare(x.set.Day, y.set.Day),
			cmp.Compare(x.set.LoadKg, y.set.LoadKg), cmp.Compare(x.set.Reps, y.set.Reps),
			cmp.Compare(x.reps, y.reps), cmp.Compare(x.effort, y.effort))
	}
	if order > 0 {
		return *y
	}
	return *x
}

// after is the load of a side that works after another: no more than that of the other, which needn't be known.
func (l *load) after(first *load) load {
	if l.set == nil || first.set == nil {
		return l.under(first)
	}
	return lesser(first, l)
}

// under is a load that isn't known, and no more than what is known of the other side.
func (l *load) under(other *load) load {
	out := *l
	if other.most < out.most {
		out.most, out.bound = other.most, byOther
	}
	return out
}

// nameLoad says the load of a dose in one sentence, or how to find it.
func (a *asked) nameLoad(d *catalog.Drill, dose *sideDose) {
	leaves := "leaves about " + strconv.Itoa(10-dose.EffortHigh) + " good repetitions in hand"
	if dose.RepsHigh == 0 || dose.HoldHigh > 0 {
		leaves = "keeps the effort at about " + strconv.Itoa(dose.EffortHigh) + " of 10"
	}
	const find = ": find the load from the test set on."
	switch most := kilograms(dose.most); {
	case !d.Loads || d.Tool.LoadType == "unloaded":
		dose.LoadWords = "No load."
	case !d.Lifted() && dose.HoldHigh > 0 && d.Speed != "hold":
		dose.LoadWords = "Keep to an effort of " + strconv.Itoa(dose.EffortLow) + " to " + strconv.Itoa(dose.EffortHigh) + " of 10, breathing" +
			withinLimit(d, dose.limit) + "."
	case !d.Lifted() && dose.HoldHigh > 0:
		dose.LoadWords = "Push or hold at an effort of " + strconv.Itoa(dose.EffortLow) + " to " +
			strconv.Itoa(dose.EffortHigh) + " of 10, breathing" + withinLimit(d, dose.limit) + "."
	case !d.Lifted():
		dose.LoadWords = "Choose the resistance or angle that " + leaves + withinLimit(d, dose.limit) + "."
	case dose.set != nil:
		dose.LoadKg, dose.LoadWords = new(dose.most), a.howLoad(dose)
	case !dose.bounded():
		dose.LoadWords = "Find the load from the test set on: a step more at a time, while it " + leaves + "."
	case dose.bound == byOther:
		dose.LoadWords = "At most " + most + ", what the other side allows" + find
	case dose.bound == byHurt:
		dose.LoadWords = "At most " + most + ", " + part(100-a.start().SorePercent) + " off " +
			setWords(dose.hurt, nil, false) + ", which hurt too much" + find
	default:
		dose.LoadWords = "At most " + most + ", by the clinician's limit" + find
	}
}

// withinLimit says a clinician's limit on what can't be set in kilograms.
func withinLimit(d *catalog.Drill, limit float64) string {
	switch {
	case math.IsInf(limit, 1):
		return ""
	case d.Load.BodyShare > 0:
		return ", within the clinician's limit"
	}
	return ", and never more than " + kilograms(limit) + ", by the clinician's limit"
}

// howLoad says the load of a dose and how it was worked out: from which set, what was taken off, and why.
func (a *asked) howLoad(dose *sideDose) string {
	l, most := &dose.load, kilograms(dose.most)
	switch l.bound {
	case byClinician:
		return most + ", by the clinician's limit; the log alone would give more."
	case byOther:
		return most + ", what the other side allows; by itself it might be more."
	case byHurt:
		return upperFirst(part(100-a.start().SorePercent)) + " off " + setWords(l.hurt, nil, false) + ", which hurt too much: " + most + "."
	}
	off, why := a.takenOff(l)
	switch plain := l.share == nil && !l.worked; {
	case plain && len(off) == 0 && l.percent == 100 && !l.rounded:
		return most + ", as on " + date(l.set.Day) + "."
	case plain && len(off) == 1:
		said := slices.DeleteFunc([]string{setWords(l.set, nil, false), why[0]}, empty)
		return upperFirst(off[0]) + " off " + strings.Join(said, ", ") + ": " + most + "."
	}
	steps := []string{"from " + setWords(l.set, nil, l.worked)}
	if l.share != nil {
		steps[0] = "from " + setWords(l.set, a.e.Catalogue.Drill(l.share.From), l.worked)
	}
	if l.worked {
		steps = append(steps, "worked out for "+strconv.Itoa(l.reps)+" repetitions at an effort of "+strconv.Itoa(l.effort))
	}
	if l.share != nil && l.share.Percent < 100 {
		steps = append(steps, figure(l.share.Percent)+" % of it")
	}
	if l.share != nil && l.share.EachHand {
		steps, most = append(steps, "halved", part(a.e.Frame.Measures.Loads.Shares.HandOffPercent)+" off"), most+" in each hand"
	}
	for i := range off {
		steps = append(steps, strings.TrimSpace(off[i]+" off "+why[i]))
	}
	if l.percent > 100 {
		steps = append(steps, figure(l.percent-100)+" % more")
	}
	return most + ": " + strings.Join(steps, ", ") + "."
}

// takenOff is what is taken off a set, each part with why.
func (a *asked) takenOff(l *load) (off, why []string) {
	if l.rested > 0 {
		off, why = append(off, part(a.start().BreakOffPercent)), append(why, "after "+strconv.Itoa(l.rested)+" days without it")
	}
	if l.percent < 100 {
		reason := "" // the rules that lower it say why
		if l.why != tolerated && l.percent == a.start().SorePercent {
			reason = soreWords[l.why]
		}
		off, why = append(off, part(100-l.percent)), append(why, reason)
	}
	return off, why
}

func empty(s string) bool { return s == "" }

// soreWords say why a sore region starts with less.
var soreWords = map[soreReason]string{
	beforeComplaint: "as it is from before the complaint",
	beganUntold:     "as nobody told since when it hurts",
	painUntold:      "as nobody told its pain",
	morningUntold:   "as nobody scored the next morning",
	otherDrill:      "for what hurts",
}

// setWords are a set as people write it, with its repetitions where they count: the 60 kg x 6 of 12 November.
func setWords(s *client.LoggedSet, of *catalog.Drill, reps bool) string {
	words := "the " + kilograms(s.LoadKg)
	if reps {
		words += " x " + strconv.Itoa(s.Reps)
	}
	if of != nil {
		words += " " + lowerFirst(of.Name)
	}
	return words + " of " + date(s.Day)
}

// part is a part in percent as people say it.
func part(percent float64) string {
	switch percent {
	case 50:
		return "half"
	case 25:
		return "a quarter"
	case 20:
		return "a fifth"
	case 10:
		return "a tenth"
	}
	return figure(percent) + " %"
}

// date is a day of the last weeks as people say it.
func date(d client.Day) string { return time.Unix(int64(d)*86400, 0).UTC().Format("2 January") }

// kilograms writes a load; discs go down to a quarter of a kilogram.
func kilograms(kg float64) string { return figure(kg) + " kg" }

func figure(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
