package server_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

// mistake is one thing that is wrong with a request, and what is said of it.
type mistake struct {
	make func(*v1.SubstituteRequest)
	says string
}

// mistakes are some of every kind, in the order of the contract: what the messages limit, days that aren't in the calendar,
// what the vocabulary lacks, and what the request names.
var mistakes = []mistake{
	{func(r *v1.SubstituteRequest) { r.Profile.Ref = strings.Repeat("m", 200) }, `profile.ref: must be at most 128 characters`},
	{func(r *v1.SubstituteRequest) { r.Profile.AgeYears = proto.Int32(444) },
		`profile.age_years: must be greater than or equal to 0 and less than or equal to 120`},
	{func(r *v1.SubstituteRequest) { r.Profile.Kit.Has[2] = "dumbell" },
		`profile.kit.has[2]: unknown kit "dumbell"; did you mean "dumbbell"?`},
	{func(r *v1.SubstituteRequest) { r.Profile.Kit.Has[10] = "hammock" }, `profile.kit.has[10]: unknown kit "hammock"`},
	{func(r *v1.SubstituteRequest) { r.Profile.Clearances[0].Until = "2026-13-01" },
		`profile.clearances[0].until: "2026-13-01" is not a day; write YYYY-MM-DD`},
	{func(r *v1.SubstituteRequest) {
		r.Profile.RangeDeg["neck.flexion"] = &v1.SidedMeasure{Left: measure(40)}
	}, `profile.range_deg["neck.flexion"].left: neck flexion has no left and right; write it under midline, once`},
	{func(r *v1.SubstituteRequest) {
		r.Profile.RangeDeg["shoulder.flexion"] = &v1.SidedMeasure{Left: measure(500)}
	}, `profile.range_deg["shoulder.flexion"].left.value: 500° is more than shoulder flexion can be; at most 200°`},
	{func(r *v1.SubstituteRequest) {
		r.Profile.RangeDeg["shoulder.flexon"] = &v1.SidedMeasure{Left: measure(90)}
	}, `profile.range_deg["shoulder.flexon"]: unknown motion "shoulder.flexon"; did you mean "shoulder.flexion"?`},
	{func(r *v1.SubstituteRequest) { r.Profile.GoalLifts = []string{"barbel-overhead-press"} },
		`profile.goal_lifts[0]: unknown drill "barbel-overhead-press"; did you mean "barbell-overhead-press"?`},
	{func(r *v1.SubstituteRequest) { r.Profile.Log.Sets[2].Drill = "" },
		`profile.log.sets[2].drill: it is missing`},
	{func(r *v1.SubstituteRequest) { r.Profile.Log.Sets[2].Effort = proto.Float64(11) },
		`profile.log.sets[2].effort: must be greater than or equal to 0 and less than or equal to 10`},
	{func(r *v1.SubstituteRequest) { r.Profile.Log.Sets[10].Day = "2026-02-30" },
		`profile.log.sets[10].day: "2026-02-30" is not a day; write YYYY-MM-DD`},
	{func(r *v1.SubstituteRequest) { r.Profile.DominantSide = v1.Side_BOTH }, `profile.dominant_side: it must be LEFT or RIGHT`},
	{func(r *v1.SubstituteRequest) { r.Complaints[0].Intensity = nil }, `complaints[0].intensity: it is missing`},
	{func(r *v1.SubstituteRequest) { r.Complaints[1].Region = "sholder" },
		`complaints[1].region: unknown region "sholder"; did you mean "shoulder"?`},
	{func(r *v1.SubstituteRequest) { r.AsOf = "" }, `as_of: it is missing`},
	{func(r *v1.SubstituteRequest) { r.Lift = "barbel-overhead-pres" },
		`lift: there is no drill "barbel-overhead-pres"; nearest: barbell-overhead-press, band-overhead-press, stick-overhead-press, barbell-bench-press, barbell-floor-press`},
	{func(r *v1.SubstituteRequest) { r.KitTaken = []string{"rak"} }, `kit_taken[0]: unknown kit "rak"; did you mean "rack"?`},
	{func(r *v1.SubstituteRequest) { r.Limit = 101 }, `limit: must be greater than or equal to 0 and less than or equal to 100`},
}

// unspoilt is a request without a mistake, and with room for all of them.
func unspoilt() *v1.SubstituteRequest {
	r := &v1.SubstituteRequest{AsOf: "2026-11-24", Lift: "barbell-overhead-press", Profile: &v1.Profile{Kit: &v1.Kit{}, Log: &v1.TrainingLog{},
		RangeDeg:   map[string]*v1.SidedMeasure{"elbow.flexion": {Left: measure(130)}},
		Clearances: []*v1.Clearance{{By: v1.ToldBy_CLINICIAN, Region: "shoulder", Given: "2026-11-20", Until: "2027-01-01"}}}}
	for range 12 {
		r.Profile.Kit.Has = append(r.Profile.Kit.Has, "bench")
		r.Profile.Log.Sets = append(r.Profile.Log.Sets, &v1.LoggedSet{Drill: "push-up", Day: "2026-11-20", Reps: 8})
	}
	for _, moment := range []v1.Moment{v1.Moment_TOP, v1.Moment_AFTER} { // so that a mistake in one doesn't contradict the other
		r.Complaints = append(r.Complaints, &v1.Complaint{Region: "shoulder", Side: v1.Side_LEFT, Intensity: proto.Float64(3), Moment: moment,
			Days: 20})
	}
	return r
}

// told are the lines of an INVALID_ARGUMENT's details, in their order.
func told(t *testing.T, err error) []string {
	t.Helper()
	require.Equal(t, codes.InvalidArgument, status.Code(err), "%v", err)
	var lines []string
	for _, d := range status.Convert(err).Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				lines = append(lines, v.GetField()+": "+v.GetDescription())
			}
		}
	}
	return lines
}

// TestMistakesComeTogetherInOrder: all at once, in the order of the contract, whoever finds them; and which others are there
// changes nothing of what is said of one.
func TestMistakesComeTogetherInOrder(t *testing.T) {
	selection := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	dice := rand.New(rand.NewPCG(11, 12))
	_, err := selection.Substitute(within(t), unspoilt())
	require.NoError(t, err)
	for round := range 300 {
		r, want := unspoilt(), []string(nil)
		share := 1 + dice.IntN(4)
		for i, m := range mistakes {
			if round == 0 || round <= len(mistakes) && round-1 == i || round > len(mistakes) && dice.IntN(4) < share {
				m.make(r)
				want = append(want, m.says)
			}
		}
		_, err := selection.Substitute(within(t), r)
		switch {
		case len(want) == 0:
			require.NoError(t, err)
		case len(want) == 1 && strings.HasPrefix(want[0], "lift: "):
			require.Equal(t, codes.NotFound, status.Code(err))
			require.Equal(t, strings.TrimPrefix(want[0], "lift: "), status.Convert(err).Message())
		default:
			require.Equal(t, want, told(t, err))
			message := strings.Join(want[:min(10, len(want))], "\n")
			if len(want) > 10 {
				message += fmt.Sprintf("\nand %d more", len(want)-10)
			}
			require.Equal(t, message, status.Convert(err).Message())
		}
	}
}

// TestUnknownNamesBesideOtherMistakes: of every question, with what it names.
func TestUnknownNamesBesideOtherMistakes(t *testing.T) {
	selection := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	const press = "barbell-overhead-press, band-overhead-press, stick-overhead-press, barbell-bench-press, barbell-floor-press"
	profile := &v1.Profile{}
	_, err := selection.Explain(within(t), &v1.ExplainRequest{Profile: profile, AsOf: "2026-11-24", Drill: "barbel-overhead-pres",
		Lift: "barbel-overhead-pres"})
	require.Equal(t, []string{
		`drill: there is no drill "barbel-overhead-pres"; nearest: ` + press,
		`lift: there is no drill "barbel-overhead-pres"; nearest: ` + press,
	}, told(t, err), "two unknown names are two mistakes")
	_, err = selection.Explain(within(t), &v1.ExplainRequest{Profile: profile, AsOf: "2026-11-24", Drill: "push-up",
		Lift: "barbel-overhead-pres"})
	require.Equal(t, codes.NotFound, status.Code(err))
	_, err = selection.Select(within(t), &v1.SelectRequest{Profile: profile, Plan: "shoulder-sesion"})
	lines := told(t, err)
	require.Len(t, lines, 2)
	require.Equal(t, "as_of: it is missing", lines[0])
	require.Contains(t, lines[1], `plan: there is no plan "shoulder-sesion"; nearest: `)
	require.Contains(t, lines[1], "shoulder-session")
	_, err = selection.Substitute(within(t), &v1.SubstituteRequest{Profile: profile, AsOf: "2026-02-30", Lift: strings.Repeat("x", 1<<20)})
	require.Equal(t, []string{`as_of: "2026-02-30" is not a day; write YYYY-MM-DD`, `lift: must be at most 128 characters`}, told(t, err))
}

// TestAFlood: a request that breaks the contract everywhere is told the first fields, the same each time, and how many more
// there are; no line of it is long.
func TestAFlood(t *testing.T) {
	selection := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition}))
	r := unspoilt()
	r.Profile.Log.Sets = nil
	for range 1000 {
		r.Profile.Log.Sets = append(r.Profile.Log.Sets, &v1.LoggedSet{Drill: strings.Repeat("x", 500), Day: strings.Repeat("y", 500), Reps: -1})
	}
	r.Profile.RangeDeg = map[string]*v1.SidedMeasure{}
	for i := range 40 {
		r.Profile.RangeDeg[fmt.Sprint("shoulder.", i, strings.Repeat("z", 3000))] = &v1.SidedMeasure{Left: &v1.Measure{}}
	}
	_, first := selection.Screen(within(t), &v1.ScreenRequest{Profile: r.Profile, AsOf: r.AsOf})
	lines := told(t, first)
	require.Len(t, lines, 50)
	require.Contains(t, status.Convert(first).Message(), "\nand 3110 more")
	for _, line := range lines {
		require.Less(t, len(line), 400)
	}
	_, again := selection.Screen(within(t), &v1.ScreenRequest{Profile: r.Profile, AsOf: r.AsOf})
	require.Equal(t, lines, told(t, again))
}
