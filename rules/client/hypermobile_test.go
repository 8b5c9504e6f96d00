package client_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// TestHypermobile: a told condition goes before a score; without either the client is presumed not to be, listed, unless nobody
// asked about conditions or something speaks for it.
func TestHypermobile(t *testing.T) {
	fr := edition().Frame
	score := func(n int) func(*client.Profile) { return func(p *client.Profile) { p.Beighton = &n } }
	aged := func(age int, then func(*client.Profile)) func(*client.Profile) {
		return func(p *client.Profile) { p.AgeYears = &age; then(p) }
	}
	known := func(id, status string) func(*client.Profile) {
		return func(p *client.Profile) {
			p.Conditions = append(p.Conditions, client.Condition{ID: id, ToldBy: "CLIENT", Status: status})
		}
	}
	reaches := func(motion string, side client.Side, deg float64) func(*client.Profile) {
		return func(p *client.Profile) {
			p.RangeDeg = append(p.RangeDeg, client.Measure{Of: motion, Side: side, Value: deg, Day: today - 400, By: "OTHER"})
		}
	}
	all := func(changes ...func(*client.Profile)) func(*client.Profile) {
		return func(p *client.Profile) {
			for _, change := range changes {
				change(p)
			}
		}
	}
	nothing := func(*client.Profile) {}
	for name, c := range map[string]struct {
		tell   func(*client.Profile)
		want   client.Truth
		status client.Status
	}{
		"nothing speaks for it": {nothing, client.No, client.Presumed},
		"conditions not asked":  {func(p *client.Profile) { p.ConditionsTold = false }, client.Maybe, client.NeverTaken},
		"conditions denied": {func(p *client.Profile) {
			p.ConditionsTold = false
			p.Answers = []client.Answer{{Question: "known_condition", Is: "NO", Day: today}}
		}, client.No, client.Presumed},
		"told":                    {known("hypermobility", "NOW"), client.Yes, client.Measured},
		"told, scored none":       {all(known("hypermobility", "NOW"), score(0)), client.Yes, client.Measured},
		"told as past":            {known("hypermobility", "PAST"), client.Maybe, client.NeverTaken},
		"a score of 5 at 50":      {aged(50, score(5)), client.Yes, client.Measured},
		"a score of 4 at 50":      {aged(50, score(4)), client.No, client.Measured},
		"a score of 4 at 51":      {aged(51, score(4)), client.Yes, client.Measured},
		"a score of 4 at no age":  {score(4), client.Maybe, client.Measured},
		"a score of 5 at no age":  {score(5), client.Yes, client.Measured},
		"a shoulder that slips":   {known("anterior_shoulder_instability", "NOW"), client.Maybe, client.NeverTaken},
		"a shoulder that slipped": {known("anterior_shoulder_instability", "PAST"), client.Maybe, client.NeverTaken},
		"a shoulder that slips, scored": {all(known("anterior_shoulder_instability", "NOW"), score(2), aged(30, nothing)), client.No,
			client.Measured},
		"loose tissue":            {known("connective_tissue_disorder", "NOW"), client.Maybe, client.NeverTaken},
		"a knee that hurts":       {known("patellofemoral_pain", "NOW"), client.No, client.Presumed},
		"one elbow past straight": {reaches("elbow.extension", client.SideLeft, 12), client.No, client.Presumed},
		"an elbow and a knee past it": {all(reaches("elbow.extension", client.SideLeft, 12),
			reaches("knee.extension", client.SideRight, 10)), client.Maybe, client.NeverTaken},
		"both knees past it": {reaches("knee.extension", client.SideBoth, 11), client.Maybe, client.NeverTaken},
		"both knees nearly":  {reaches("knee.extension", client.SideBoth, 9), client.No, client.Presumed},
		"a joint that came out, or worse": {func(p *client.Profile) {
			p.Answers = []client.Answer{{Question: "surgery_or_dislocation", Is: "YES", Day: today}}
		}, client.Maybe, client.NeverTaken},
	} {
		p := &client.Profile{ConditionsTold: true}
		c.tell(p)
		f := client.Derive(fr, &client.Request{AsOf: today, Profile: p})
		require.Equal(t, c.want, f.Truth("client.hypermobile", 0), name)
		require.Equal(t, c.status, f.StatusOf("client.hypermobile", 0), name)
		listed := false
		for _, presumed := range f.Presumptions {
			listed = listed || presumed.Path == "client.hypermobile"
		}
		require.Equal(t, c.status == client.Presumed || !p.ConditionsTold && c.want == client.Maybe, listed, name)
	}
}
