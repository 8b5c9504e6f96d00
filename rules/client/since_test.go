package client_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestSinceWhen: the days since a condition and the weeks since an operation are those of the newest on that side, any where nobody said
// when, none where there is none, and open while nobody was asked.
func TestSinceWhen(t *testing.T) {
	fr := edition().Frame
	p := &client.Profile{ConditionsTold: true, SurgeriesTold: true,
		Conditions: []client.Condition{
			{ID: "ankle_sprain", Side: client.SideLeft, Since: today - 30, Status: "PAST"},
			{ID: "ankle_sprain", Side: client.SideLeft, Since: today - 9},
			{ID: "ankle_sprain", Side: client.SideBoth, Since: today - 400},
			{ID: "wrist_sprain", Side: client.SideRight},
		},
		Surgeries: []client.Surgery{
			{ID: "acl_reconstruction", Region: "knee", Side: client.SideLeft, Day: today - 7*30},
			{ID: "some repair", Region: "knee", Side: client.SideBoth, Day: today - 7*4 - 6},
			{ID: "cuff_repair", Region: "shoulder", Side: client.SideRight},
		}}
	f := client.Derive(fr, &client.Request{AsOf: today, Profile: p})
	span := func(path string, side int) client.Span { return f.Number(path, side) }
	require.Equal(t, client.Span{Lo: 9, Hi: 9}, span("client.condition_days.ankle_sprain", 0))
	require.Equal(t, client.Span{Lo: 400, Hi: 400}, span("client.condition_days.ankle_sprain", 1))
	require.True(t, math.IsNaN(span("client.condition_days.wrist_sprain", 0).Lo))
	require.Equal(t, client.Span{Lo: 0, Hi: 36500}, span("client.condition_days.wrist_sprain", 1))
	require.Equal(t, client.Span{Lo: 4, Hi: 30}, span("client.operation_weeks.acl_reconstruction", 0), "the other may be a new ligament too")
	require.Equal(t, client.Span{Lo: 4, Hi: 5200}, span("client.operation_weeks.acl_reconstruction", 1), "it may be one, or none")
	require.True(t, math.IsNaN(span("client.operation_weeks.cuff_repair", 0).Lo))
	require.Equal(t, client.Span{Lo: 0, Hi: 5200}, span("client.operation_weeks.cuff_repair", 1))

	f = client.Derive(fr, &client.Request{AsOf: today, Profile: &client.Profile{}})
	require.Equal(t, client.Span{Lo: 0, Hi: 36500}, f.Number("client.condition_days.ankle_sprain", 0), "nobody asked")
	require.Equal(t, client.Span{Lo: 0, Hi: 5200}, f.Number("client.operation_weeks.cuff_repair", 0), "nobody asked")
}

// TestTendonNamed: a clinician named a tendon, there and on that side.
func TestTendonNamed(t *testing.T) {
	fr := edition().Frame
	named := func(c client.Condition) (left, right client.Truth) {
		f := client.Derive(fr, &client.Request{AsOf: today, Profile: &client.Profile{ConditionsTold: true, Conditions: []client.Condition{c}}})
		require.Equal(t, client.No, f.Truth("client.tendon_named.ankle", 0), "of the knee")
		return f.Truth("client.tendon_named.knee", 0), f.Truth("client.tendon_named.knee", 1)
	}
	for _, c := range []struct {
		told        client.Condition
		left, right client.Truth
	}{
		{client.Condition{ID: "patellar_tendinopathy", Side: client.SideLeft, ToldBy: "CLINICIAN"}, client.Yes, client.No},
		{client.Condition{ID: "patellar_tendinopathy", Side: client.SideBoth, ToldBy: "CLINICIAN"}, client.Yes, client.Yes},
		{client.Condition{ID: "patellar_tendinopathy", ToldBy: "CLINICIAN"}, client.No, client.No},
		{client.Condition{ID: "patellar_tendinopathy", Side: client.SideLeft, ToldBy: "CLIENT"}, client.No, client.No},
		{client.Condition{ID: "patellar_tendinopathy", Side: client.SideLeft, ToldBy: "CLINICIAN", Status: "PAST"}, client.No, client.No},
		{client.Condition{ID: "knee_osteoarthritis", Side: client.SideLeft, ToldBy: "CLINICIAN"}, client.No, client.No},
	} {
		left, right := named(c.told)
		require.Equal(t, [2]client.Truth{c.left, c.right}, [2]client.Truth{left, right}, "%+v", c.told)
	}
}

// TestASideIsOfWhatHasOne: a condition of the hip and the lower back puts one hip in question, and the lower back on both.
func TestASideIsOfWhatHasOne(t *testing.T) {
	fr := edition().Frame
	f := client.Derive(fr, &client.Request{AsOf: today, Profile: &client.Profile{ConditionsTold: true,
		Conditions: []client.Condition{{ID: "pelvic_girdle_pain", Side: client.SideLeft, ToldBy: "CLINICIAN"}}}})
	require.Equal(t, client.Yes, f.Truth("client.in_question.hip", 0))
	require.False(t, f.Truth("client.in_question.hip", 1).Sure)
	require.Equal(t, client.Yes, f.Truth("client.in_question.low_back", 0))
	require.Equal(t, client.Yes, f.Truth("client.in_question.low_back", 1))
}
