package server

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

func TestMetricsTellCallsAndRevision(t *testing.T) {
	r := run(t, Config{CheckShare: -1}, nil)
	r.explain("push-press")
	r.explain("push-up")
	c := sampleClient(t)
	_, err := r.Explain(t.Context(), &v1.ExplainRequest{Profile: c.Profile, AsOf: c.AsOf, Drill: "push-upp"})
	require.Equal(t, codes.NotFound, status.Code(err))
	_, err = r.Screen(t.Context(), &v1.ScreenRequest{})
	require.Equal(t, codes.InvalidArgument, status.Code(err))

	const labels = `rpc_method="drillwright.v1.SelectionService/%",rpc_response_status_code="%",rpc_system_name="grpc"`
	count := func(method, code string) string {
		return "rpc_server_call_duration_seconds_count{" + strings.Replace(strings.Replace(labels, "%", method, 1), "%", code, 1) + "} "
	}
	r.tells(count("Explain", "OK") + "2")
	r.tells(count("Explain", "NOT_FOUND") + "1")
	r.tells(count("Screen", "INVALID_ARGUMENT") + "1")
	r.tells(`drillwright_edition_info{engine="` + rules.EngineVersion + `",revision="` + embedded().Revision + `"} 1`)
	for _, private := range []string{"m-0412", "push", c.Complaints[0].GetRegion()} {
		require.NotContains(t, r.told(), private)
	}
}

// Only the revision that is served is told.
func TestMetricsFollowTheEdition(t *testing.T) {
	r := run(t, Config{}, nil)
	require.Equal(t, 1, strings.Count(r.told(), "\ndrillwright_edition_info{"))
	next := *embedded()
	next.Revision = "another"
	r.server.Adopt(&next)
	r.tells(`drillwright_edition_info{engine="` + rules.EngineVersion + `",revision="another"} 1`)
	require.Equal(t, 1, strings.Count(r.told(), "\ndrillwright_edition_info{"))
}

// A method without attributes would be counted namelessly.
func TestEveryMethodHasItsAttributes(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	for service, about := range s.grpc(s).GetServiceInfo() {
		for _, m := range about.Methods {
			if !m.IsServerStream {
				require.Contains(t, s.metrics.attributes, call{"/" + service + "/" + m.Name, codes.OK})
			}
		}
	}
}

func BenchmarkCalled(b *testing.B) {
	for name, on := range map[string]bool{"counted": true, "not counted": false} {
		b.Run(name, func(b *testing.B) {
			m, err := newMetrics(on, func() *served { return nil }, func() (time.Duration, bool, bool) { return 0, false, false })
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				m.called(v1.SelectionService_Screen_FullMethodName, codes.OK, 70*time.Microsecond)
			}
		})
	}
}
