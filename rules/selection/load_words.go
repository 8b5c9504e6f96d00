package selection

import (
	"cmp"
	"math"
	"strconv"
	"strings"
	"time"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// lesser is the load that stands for two sides that work together. Of the same from different sets it is the same whichever side is which.
func lesser(x, y *load) load {
	order := cmp.Compare(x.most, y.most)
	switch {
	case order == 0 && (x.set == nil) != (y.set == nil):
		order = 1
		if x.set == nil {
			order = -1
		}
	case order == 0 && x.set != nil:
		order = cmp.Or(cmp.Compare(x.bound, y.bound), cmp.Compare(x.percent, y.percent), cmp.Compare(x.why, y.why),
			cmp.Compare(x.set.Day, y.set.Day), cmp.Compare(x.set.LoadKg, y.set.LoadKg), cmp.Compare(x.set.Reps, y.set.Reps))
	}
	if order > 0 {
		return *y
	}
	return *x
}

// after is the load of a side that works after another: no more, and where nothing is known of itself no more than a bound.
func (l *load) after(first *load) load {
	if l.set != nil || first.set == nil || first.most >= l.most {
		return lesser(first, l)
	}
	return load{most: first.most, limit: l.limit, bound: byOther}
}

// nameLoad says the load of a dose in one sentence, or how to find it.
func (a *asked) nameLoad(d *catalog.Drill, dose *sideDose) {
	leaves := "leaves about " + strconv.Itoa(10-dose.EffortHigh) + " good repetitions" + " in hand"
	if dose.RepsHigh == 0 || dose.HoldHigh > 0 {
		leaves = "keeps the effort at about " + strconv.Itoa(dose.EffortHigh) + " of 10"
	}
	const find = ": find the load from the test set on."
	switch most := kilograms(dose.most); {
	case !d.Loads || d.Tool.LoadType == "unloaded":
		dose.LoadWords = "No load."
	case !d.Lifted() && dose.HoldHigh > 0:
		dose.LoadWords = "Push or hold at an effort of " + strconv.Itoa(dose.EffortLow) + " to " +
			strconv.Itoa(dose.EffortHigh) + " of 10, breathing" + withinLimit(d, dose.limit) + "."
	case !d.Lifted():
		dose.LoadWords = "Choose the resistance or angle that " + leaves + withinLimit(d, dose.limit) + "."
	case dose.set != nil:
		dose.LoadKg, dose.LoadWords = new(dose.most), a.howLoad(d, &dose.load)
	case !dose.bounded():
		dose.LoadWords = "Find the load from the test set on: a step more at a time, while it " + leaves + "."
	case dose.bound == byOther:
		dose.LoadWords = "At most " + most + ", what the other side does" + find
	case dose.bound == byHurt:
		dose.LoadWords = "At most " + most + ", " + part(100-a.start().SorePercent) + " off " + setWords(dose.hurt, nil, false) + ", which hurt too much" + find
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

// howLoad says a load and how it was worked out: from which set, what was taken off, and why.
func (a *asked) howLoad(d *catalog.Drill, l *load) string {
	most := kilograms(l.most)
	switch l.bound {
	case byClinician:
		return most + ", by the clinician's limit; the log alone would give more."
	case byHurt:
		return upperFirst(part(100-a.start().SorePercent)) + " off " + setWords(l.hurt, nil, false) + ", which hurt too much: " + most + "."
	}
	what := setWords(l.set, nil, l.worked)
	if l.share != nil {
		what = a.shareWords(l)
	} else if l.worked {
		what = "what " + what + " give for this dose"
	}
	var off, why []string
	if l.rested > 0 {
		off, why = append(off, part(a.start().BreakOffPercent)), append(why, "after "+strconv.Itoa(l.rested)+" days without it")
	}
	if l.percent < 100 {
		off = append(off, part(100-l.percent))
		if l.percent == a.start().SorePercent && l.why != tolerated {
			why = append(why, soreWords[l.why])
		}
	}
	if l.rounded {
		why = append(why, "rounded down")
	}
	switch {
	case len(off) > 0:
		return upperFirst(strings.Join(off, " and then ")) + " off " + strings.Join(append([]string{what}, why...), ", ") + ": " + most + "."
	case l.share == nil && !l.worked && !l.rounded && l.percent == 100:
		return most + ", as on " + date(l.set.Day) + "."
	case l.percent > 100:
		return most + ": " + what + " and " + figure(l.percent-100) + " % more."
	}
	return most + ": " + strings.Join(append([]string{what}, why...), ", ") + "."
}

// soreWords say why a sore region starts with less.
var soreWords = map[soreReason]string{
	beforeComplaint: "from before the complaint",
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

// shareWords say which part of which set of which other drill a load is.
func (a *asked) shareWords(l *load) string {
	shares := &a.e.Frame.Measures.Loads.Shares
	from := setWords(l.set, a.e.Catalogue.Drill(l.share.From), l.worked)
	if l.worked {
		from = "what " + from + " give for this dose"
	}
	share := figure(l.share.Percent) + " % of " + from
	if l.share.EachHand {
		return "half of " + share + ", less " + part(shares.HandOffPercent) + ", for each hand"
	}
	return share
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
