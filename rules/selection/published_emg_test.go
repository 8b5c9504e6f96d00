package selection_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/catalog"
)

// From high (41 % and more, DiGiovine et al. 1992, from memory) a muscle is more than a stabiliser. Two drills of
// one study differ when the gap is at least leastGap and above the larger standard deviation: studies use other
// loads and electrodes, and can't be ranked against each other.
const (
	high     = 41
	leastGap = 20
)

var parts = map[string]string{
	"biceps_femoris": "hamstrings", "vastus_lateralis": "vasti",
	"upper_gluteus_maximus": "gluteus_maximus", "lower_gluteus_maximus": "gluteus_maximus",
	"upper_rectus_abdominis": "rectus_abdominis", "lower_rectus_abdominis": "rectus_abdominis",
	"middle_serratus_anterior": "serratus_anterior", "lower_serratus_anterior": "serratus_anterior",
}

// groups are the muscles that the core drills of a study cover between them.
var groups = map[string][]string{
	"rotator cuff, deltoid, pectoralis major, latissimus (as a group)": {"supraspinatus", "infraspinatus", "teres_minor", "subscapularis",
		"anterior_deltoid", "middle_deltoid", "posterior_deltoid", "pectoralis_major", "latissimus_dorsi"},
	"8 scapular muscles (as a group)": {"upper_trapezius", "middle_trapezius", "lower_trapezius", "levator_scapulae", "rhomboids",
		"serratus_anterior", "pectoralis_minor"},
}

func muscle(t *testing.T, r row) string {
	t.Helper()
	id := strings.ReplaceAll(r["muscle"], " ", "_")
	if whole, ok := parts[id]; ok {
		id = whole
	}
	require.True(t, edition(t).Frame.Vocabulary.Has("muscle", id), "%s: %q is no muscle", r["id"], id)
	return id
}

// role is 3 for a prime mover, 2 for one that assists, 1 for one that steadies, 0 for one that isn't named.
func role(d *catalog.Drill, muscle string) int {
	for i, list := range [][]string{d.Muscles.Steady, d.Muscles.Assist, d.Muscles.Prime} {
		if slices.Contains(list, muscle) {
			return i + 1
		}
	}
	return 0
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func TestEveryActivationRowIsSaidOrSaysWhyNot(t *testing.T) {
	said, notYet := 0, 0
	for _, r := range published(t, "emg.csv") {
		require.NotEqual(t, r["drill"] == "", r["not_yet"] == "", "%s: a drill, or why there is none", r["id"])
		require.NotEqual(t, r["mvic_pct"] == "", r["finding"] == "", "%s: a figure, or a finding in words", r["id"])
		for _, id := range r.list("drill") {
			drill(t, id)
		}
		if r["drill"] == "" {
			notYet++
		} else {
			said++
		}
	}
	require.Equal(t, []int{115, 1}, []int{said, notYet})
}

func TestMusclesWorkedHardArePrimeOrAssist(t *testing.T) {
	for _, r := range published(t, "emg.csv") {
		if r["mvic_pct"] == "" || number(t, r["mvic_pct"]) < high {
			continue
		}
		for _, id := range r.list("drill") {
			require.GreaterOrEqual(t, role(drill(t, id), muscle(t, r)), 2, "%s: %s %% of %s in %s", r["id"], r["mvic_pct"], r["muscle"], id)
		}
	}
}

func TestNoStudyRanksRolesTheOtherWay(t *testing.T) {
	rows := slices.DeleteFunc(published(t, "emg.csv"), func(r row) bool { return r["mvic_pct"] == "" })
	pairs := 0
	for _, more := range rows {
		for _, less := range rows {
			gap := number(t, more["mvic_pct"]) - number(t, less["mvic_pct"])
			if study(more) != study(less) || more["muscle"] != less["muscle"] || gap < leastGap || gap <= max(number(t, more["sd"]),
				number(t, less["sd"])) {
				continue
			}
			for _, a := range more.list("drill") {
				for _, b := range less.list("drill") {
					m := muscle(t, more)
					require.GreaterOrEqual(t, role(drill(t, a), m), role(drill(t, b), m), "%s: %s works more in %s than (%s) in %s", more["id"], m, a,
						less["id"], b)
					pairs++
				}
			}
		}
	}
	require.Equal(t, 17, pairs, "pairs of drills that a study tells apart")
}

// study is the source without what was added about tables that repeat it.
func study(r row) string {
	name, _, _ := strings.Cut(r["source"], " (also")
	return name
}

func TestFindingsInWords(t *testing.T) {
	for _, r := range published(t, "emg.csv") {
		for _, id := range r.list("drill") {
			d := drill(t, id)
			switch r["finding"] {
			case "above 20", "marked":
				require.GreaterOrEqual(t, role(d, muscle(t, r)), 2, "%s: %s in %s", r["id"], r["muscle"], id)
			case "moderate":
				require.GreaterOrEqual(t, role(d, muscle(t, r)), 1, "%s: %s in %s", r["id"], r["muscle"], id)
			case "not above 20", "minimal":
				require.LessOrEqual(t, role(d, muscle(t, r)), 1, "%s: %s in %s", r["id"], r["muscle"], id)
			case "upper not above":
				for _, lower := range []string{"middle_trapezius", "lower_trapezius"} {
					require.GreaterOrEqual(t, role(d, lower), role(d, "upper_trapezius"), "%s: %s in %s", r["id"], lower, id)
				}
			case "core":
				prime := slices.ContainsFunc(groups[r["muscle"]], func(m string) bool { return role(d, m) == 3 })
				require.True(t, prime, "%s: %s is prime for none of the group", r["id"], id)
			default:
				require.Empty(t, r["finding"], r["id"])
			}
		}
	}
}

// TestCoreDrillsCoverTheirGroup: between them the core drills of a study train every muscle of its group.
func TestCoreDrillsCoverTheirGroup(t *testing.T) {
	core := map[string][]string{
		// The fourth of that study's core drills, thumbs down, has no row of its own among the findings.
		"rotator cuff, deltoid, pectoralis major, latissimus (as a group)": {"dumbbell-scaption-thumb-down"},
	}
	for _, r := range published(t, "emg.csv") {
		if r["finding"] == "core" {
			core[r["muscle"]] = append(core[r["muscle"]], r.list("drill")...)
		}
	}
	for group, muscles := range groups {
		require.GreaterOrEqual(t, len(core[group]), 4, group)
		for _, m := range muscles {
			covered := slices.ContainsFunc(core[group], func(id string) bool { return role(drill(t, id), m) >= 2 })
			require.True(t, covered, "none of %v trains %s", core[group], m)
		}
	}
}
