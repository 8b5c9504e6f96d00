package server

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/clientfile"
)

// embedded is compiled once for the tests in here.
var embedded = sync.OnceValue(func() *rules.Edition {
	e, err := rules.Embedded()
	if err != nil {
		panic(err)
	}
	return e
})

func (r *running) explain(drill string) *v1.ExplainResponse {
	r.t.Helper()
	c := sampleClient(r.t)
	resp, err := r.Explain(r.t.Context(), &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: drill})
	require.NoError(r.t, err)
	return resp
}

func sampleClient(t *testing.T) *clientfile.File {
	data, err := os.ReadFile("../testdata/clients/left-shoulder-press.yaml")
	require.NoError(t, err)
	c, err := clientfile.Read(authored.File{Name: "left-shoulder-press.yaml", Data: data})
	require.NoError(t, err)
	return c
}

// otherVerdict answers as the plain way does, but for the verdict.
func otherVerdict(g given, c *checker) (response, error) {
	r, err := c.onReference(g)
	if err == nil {
		a := r.(*v1.ExplainResponse)
		a.Verdict = v1.Verdict_OPEN + v1.Verdict_NOT_TODAY - a.Verdict
	}
	return r, err
}

func TestPlantedFaultIsFound(t *testing.T) {
	r := run(t, Config{CheckShare: 1}, otherVerdict)
	served := r.explain("push-press")
	r.tells("drillwright_check_mismatches_total 1")
	r.tells("drillwright_check_answers_total 1")
	r.stop()
	log := r.lines.String()
	require.Contains(t, log, "level=ERROR")
	require.Contains(t, log, "differs=verdict")
	require.Contains(t, log, "method=/drillwright.v1.SelectionService/Explain")
	require.Contains(t, log, served.GetHeader().GetReceipt().GetRequestDigest())
	c := sampleClient(t)
	for _, private := range []string{c.Profile.GetRef(), c.AsOf, "push-press", c.Complaints[0].GetRegion(), "left", "NOT_TODAY"} {
		require.NotContains(t, log, private)
	}
}

func TestMismatchIsKeptOnlyWhenAskedFor(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "kept")
	r := run(t, Config{CheckShare: 1, KeepMismatches: dir}, otherVerdict)
	served := r.explain("push-press")
	r.tells("drillwright_check_mismatches_total 1")
	r.stop()
	require.NotContains(t, r.lines.String(), sampleClient(t).Profile.GetRef())

	name := filepath.Join(dir, "explain-"+served.GetHeader().GetReceipt().GetRequestDigest()+".json")
	about, err := os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), about.Mode().Perm())
	about, err = os.Stat(dir)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), about.Mode().Perm())
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	var m mismatch
	require.NoError(t, json.Unmarshal(data, &m))
	require.Equal(t, "verdict", m.Differs)
	require.Equal(t, embedded().Revision, m.Revision)
	var asked v1.ExplainRequest
	require.NoError(t, protojson.Unmarshal(m.Request, &asked))
	require.Equal(t, "m-0412", asked.GetProfile().GetRef())
	var had, plain v1.ExplainResponse
	require.NoError(t, protojson.Unmarshal(m.Served, &had))
	require.NoError(t, protojson.Unmarshal(m.Reference, &plain))
	require.True(t, proto.Equal(served, &had))
	require.NotEqual(t, had.GetVerdict(), plain.GetVerdict())
}

// Both ways agree on the answers of every call; nothing is kept or logged then.
func TestAgreeingAnswers(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o700))
	r := run(t, Config{CheckShare: 1, KeepMismatches: dir}, nil)
	r.explain("push-press")
	c := sampleClient(t)
	_, err := r.Screen(t.Context(), &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
	require.NoError(t, err)
	r.tells("drillwright_check_answers_total 2")
	r.tells("drillwright_check_mismatches_total 0")
	r.stop()
	require.NotContains(t, r.lines.String(), "level=ERROR")
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, files)
}

// A panic of the plain way counts as a difference, and ends nothing.
func TestPlainWayFails(t *testing.T) {
	r := run(t, Config{CheckShare: 1}, func(given, *checker) (response, error) { panic("quoting m-0412") })
	r.explain("push-press")
	r.tells("drillwright_check_mismatches_total 1")
	r.explain("push-up")
	r.tells("drillwright_check_mismatches_total 2")
	r.stop()
	require.NotContains(t, r.lines.String(), "m-0412")
}

// One in so many is due, also of the calls of one caller among some that take turns.
func TestShareThatIsDue(t *testing.T) {
	for share, want := range map[int]float64{-1: 0, 0: 90, 1: 90_000, 2: 45_000, 100: 900} {
		s, err := New(Config{CheckShare: share})
		require.NoError(t, err)
		var due [3]int
		for i := range 90_000 {
			if s.checks.due() {
				due[i%3]++
			}
		}
		for _, n := range due {
			require.InDelta(t, want/3, n, 3, "one in %d: %v", share, due)
		}
	}
}

func TestCheckedAnswersAreTheSameBytes(t *testing.T) {
	plain, checked := run(t, Config{CheckShare: -1}, nil), run(t, Config{CheckShare: 1}, otherVerdict)
	for _, drill := range []string{"push-press", "push-up", "barbell-overhead-press"} {
		require.True(t, sameBytes(plain.explain(drill), checked.explain(drill)), drill)
	}
}

// What finds no room is dropped and counted; nobody waits.
func TestFullQueueDrops(t *testing.T) {
	hold, begun := make(chan struct{}), make(chan struct{}, 100)
	r := run(t, Config{CheckShare: 1, StopWithin: 10 * time.Millisecond}, func(g given, c *checker) (response, error) {
		begun <- struct{}{}
		<-hold
		return g.served, nil
	})
	r.explain("push-press")
	<-begun // the worker is busy; the queue is empty
	for range waitingChecks + 3 {
		r.explain("push-press")
	}
	r.tells("drillwright_check_dropped_total 3")
	r.stop() // doesn't wait for the check in hand longer than it was told to
	close(hold)
	r.gone("server.(*checker)")
}

func TestStopLeavesNothingRunning(t *testing.T) {
	r := run(t, Config{CheckShare: 1}, nil)
	for range 5 {
		r.explain("push-press")
	}
	r.stop()
	r.gone("server.(*checker)")
	r.gone("server.(*metrics)")

	local, err := New(Config{Edition: embedded(), CheckShare: 1})
	require.NoError(t, err)
	_, stop, err := local.Local()
	require.NoError(t, err)
	stop()
	r.gone("server.(*checker)")
}

// An answer is checked on the edition that gave it, whatever is served by then.
func TestEditionThatAnsweredIsChecked(t *testing.T) {
	adopted, checked := make(chan struct{}), make(chan *rules.Edition, 1)
	r := run(t, Config{CheckShare: 1}, func(g given, c *checker) (response, error) {
		<-adopted
		a, err := c.onReference(g)
		checked <- c.reference.of.Edition
		return a, err
	})
	r.explain("push-press")
	r.server.Adopt(embedded().ByReference())
	close(adopted)
	require.Same(t, embedded(), <-checked)
	r.tells("drillwright_check_answers_total 1")
}

// BenchmarkDue is what an answer costs that isn't checked.
func BenchmarkDue(b *testing.B) {
	c := &checker{below: math.MaxUint64 / defaultShare}
	for b.Loop() {
		c.due()
	}
}

// TestAnswerBeyondTheLimitsIsFound: should the written limits let through what the library refuses, the live check says so.
func TestAnswerBeyondTheLimitsIsFound(t *testing.T) {
	s, err := New(Config{Edition: embedded(), CheckShare: 1})
	require.NoError(t, err)
	c := sampleClient(t)
	answer := &v1.ExplainResponse{}
	g := given{method: "Explain", edition: s.cache.Load().live, served: answer,
		again:   func(*served) (response, error) { return answer, nil },
		request: &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: "2026-1-1", Drill: "push-press"}}
	_, err = s.checks.caught(g)
	require.ErrorContains(t, err, "beyond the contract's limits")
	g.request = &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: "push-press"}
	_, err = s.checks.caught(g)
	require.NoError(t, err)
}
