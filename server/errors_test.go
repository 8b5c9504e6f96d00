package server_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

// violations are those of an INVALID_ARGUMENT, by field.
func violations(t *testing.T, err error) map[string]string {
	t.Helper()
	require.Equal(t, codes.InvalidArgument, status.Code(err), "%v", err)
	require.Equal(t, "INVALID_REQUEST", info(t, err).GetReason())
	found := map[string]string{}
	for _, d := range status.Convert(err).Details() {
		if bad, ok := d.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				found[v.GetField()] = v.GetDescription()
			}
		}
	}
	return found
}

func TestUnknownIDsAreNotFound(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	selection, c := v1.NewSelectionServiceClient(conn), shoulder(t)
	calls := map[string]func() error{
		"lift": func() error {
			_, err := selection.Substitute(within(t), &v1.SubstituteRequest{Profile: c.Profile, AsOf: c.AsOf, Lift: "barbel-overhead-pres"})
			return err
		},
		"drill of explain": func() error {
			_, err := selection.Explain(within(t), &v1.ExplainRequest{Profile: c.Profile, AsOf: c.AsOf, Drill: "barbel-overhead-pres"})
			return err
		},
		"drill of the catalogue": func() error {
			_, err := v1.NewCatalogServiceClient(conn).GetDrill(within(t), &v1.GetDrillRequest{Id: "barbel-overhead-pres"})
			return err
		},
	}
	for name, call := range calls {
		err := call()
		require.Equal(t, codes.NotFound, status.Code(err), name)
		require.Contains(t, err.Error(), "barbell-overhead-press", name)
		require.Equal(t, "UNKNOWN_DRILL", info(t, err).GetReason(), name)
		require.Contains(t, info(t, err).GetMetadata()["nearest"], "barbell-overhead-press", name)
		var resource *errdetails.ResourceInfo
		for _, d := range status.Convert(err).Details() {
			if r, ok := d.(*errdetails.ResourceInfo); ok {
				resource = r
			}
		}
		require.Equal(t, "barbel-overhead-pres", resource.GetResourceName(), name)
	}
	_, err := selection.Select(within(t), &v1.SelectRequest{Profile: c.Profile, AsOf: c.AsOf, Plan: "no-such-plan"})
	require.Equal(t, codes.NotFound, status.Code(err))
	require.Equal(t, "UNKNOWN_PLAN", info(t, err).GetReason())
}

// measure is a measurement of the day.
func measure(v float64) *v1.Measure {
	return &v1.Measure{Value: &v, Date: "2026-11-20", By: v1.MeasuredBy_SAME_MEASURER}
}

func TestABadProfileNamesEveryField(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	profile := &v1.Profile{
		AgeYears: proto.Int32(44),
		Kit:      &v1.Kit{Has: []string{"dumbell"}},
		RangeDeg: map[string]*v1.SidedMeasure{
			"shoulder.flexion": {Left: measure(500), Right: measure(168)},
			"shoulder.flexon":  {Left: measure(120)},
			"neck.flexion":     {Left: measure(40), Right: measure(41)},
		},
		BloodPressure: &v1.BloodPressure{Systolic: 80, Diastolic: 90, Date: "2026-11-30"},
		GoalLifts:     []string{"barbel-overhead-press"},
	}
	complaints := []*v1.Complaint{{Region: "shoulder", Side: v1.Side_LEFT, Intensity: proto.Float64(4)}}
	_, err := v1.NewSelectionServiceClient(conn).Screen(within(t), &v1.ScreenRequest{Profile: profile, Complaints: complaints,
		AsOf: "2026-11-24"})
	require.Equal(t, map[string]string{
		`profile.kit.has[0]`: `unknown kit "dumbell"; did you mean "dumbbell"?`,
		`profile.range_deg["shoulder.flexion"].left.value`: `500° is more than shoulder flexion can be; at most 200°`,
		`profile.range_deg["shoulder.flexon"]`:             `unknown motion "shoulder.flexon"; did you mean "shoulder.flexion"?`,
		`profile.range_deg["neck.flexion"].left`:           `neck flexion has no left and right; write it under midline, once`,
		`profile.range_deg["neck.flexion"].right`:          `neck flexion has no left and right; write it under midline, once`,
		`profile.blood_pressure.systolic`:                  `the upper value, 80, is not above the lower, 90`,
		`profile.blood_pressure.date`:                      `2026-11-30 is after the day of the request, 2026-11-24`,
		`profile.goal_lifts[0]`:                            `unknown drill "barbel-overhead-press"; did you mean "barbell-overhead-press"?`,
	}, violations(t, err))
	require.Contains(t, status.Convert(err).Message(), "500° is more than shoulder flexion can be; at most 200°")
}

func TestLimitsOfTheContractAndOfTheBookComeTogether(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	profile := &v1.Profile{
		DominantSide: v1.Side_BOTH,
		RangeDeg:     map[string]*v1.SidedMeasure{"shoulder.flexion": {Left: measure(500), Right: &v1.Measure{Value: proto.Float64(120)}}},
	}
	complaints := []*v1.Complaint{{Region: "shoulder", Intensity: proto.Float64(12)}, {Region: "sholder"}}
	_, err := v1.NewSelectionServiceClient(conn).Substitute(within(t), &v1.SubstituteRequest{Profile: profile, Complaints: complaints,
		AsOf: "24.11.2026"})
	require.Equal(t, map[string]string{
		`as_of`:                   `"24.11.2026" is not a day; write YYYY-MM-DD`,
		`lift`:                    `it is missing`,
		`complaints[0].intensity`: `must be greater than or equal to 0 and less than or equal to 10`,
		`complaints[1].intensity`: `it is missing`,
		`complaints[1].region`:    `unknown region "sholder"; did you mean "shoulder"?`,
		`profile.dominant_side`:   `it must be LEFT or RIGHT`,
		`profile.range_deg["shoulder.flexion"].left.value`: `500° is more than shoulder flexion can be; at most 200°`,
		`profile.range_deg["shoulder.flexion"].right.date`: `it is missing`,
	}, violations(t, err))
}

func TestADayThatIsNotInTheCalendar(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	_, err := v1.NewSelectionServiceClient(conn).Screen(within(t), &v1.ScreenRequest{Profile: &v1.Profile{}, AsOf: "2026-02-30"})
	require.Equal(t, map[string]string{"as_of": `"2026-02-30" is not a day; write YYYY-MM-DD`}, violations(t, err))
	_, err = v1.NewSelectionServiceClient(conn).Screen(within(t), &v1.ScreenRequest{})
	require.Equal(t, map[string]string{"as_of": "it is missing", "profile": "it is missing"}, violations(t, err))
}

func TestManyViolationsStayReadable(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	profile := &v1.Profile{Log: &v1.TrainingLog{}}
	for range 1000 {
		profile.Log.Sets = append(profile.Log.Sets, &v1.LoggedSet{Drill: "push-up", Day: "2026-12-20"})
	}
	_, err := v1.NewSelectionServiceClient(conn).Screen(within(t), &v1.ScreenRequest{Profile: profile, AsOf: "2026-11-24"})
	require.Len(t, violations(t, err), 50)
	require.Contains(t, status.Convert(err).Message(), "and 990 more")
}

// What a list that is too long holds isn't looked at; all that stands beside it is.
func TestListsThatAreTooLong(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	profile := &v1.Profile{Log: &v1.TrainingLog{}, Kit: &v1.Kit{Has: []string{"dumbell"}}, PassiveDeg: map[string]*v1.SidedMeasure{},
		Clearances: []*v1.Clearance{{By: v1.ToldBy_CLINICIAN, Region: "shoulder", Given: "2026-11-20"},
			{By: v1.ToldBy_CLINICIAN, Region: "shoulder", Given: "2026-11-20", Covers: make([]string, 30)},
			{By: v1.ToldBy_CLINICIAN, Region: "sholder", Given: "2026-11-20"}}}
	for i := range 4000 {
		profile.Log.Sets = append(profile.Log.Sets, &v1.LoggedSet{Drill: "nothing-of-the-kind", Day: "tomorrow", Reps: -1})
		profile.PassiveDeg[fmt.Sprint("x", i)] = &v1.SidedMeasure{Left: &v1.Measure{}}
	}
	sent := &v1.ScreenRequest{Profile: profile, Complaints: make([]*v1.Complaint, 21), AsOf: "2026-11-24"}
	for i := range sent.Complaints {
		sent.Complaints[i] = &v1.Complaint{}
	}
	_, err := v1.NewSelectionServiceClient(conn).Screen(within(t), sent)
	require.Equal(t, map[string]string{
		`profile.kit.has[0]`:           `unknown kit "dumbell"; did you mean "dumbbell"?`,
		`profile.clearances[1].covers`: `30 entries are too many; at most 20`,
		`profile.clearances[2].region`: `unknown region "sholder"; did you mean "shoulder"?`,
		`profile.passive_deg`:          `4000 entries are too many; at most 120`,
		`profile.log.sets`:             `4000 entries are too many; at most 1000`,
		`complaints`:                   `21 entries are too many; at most 20`,
	}, violations(t, err))
}
