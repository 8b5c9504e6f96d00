package server

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
	"drillwright/rules/selection"
	"drillwright/server/clientfile"
)

// sign is a client of testdata/signs and what is wanted of the answer; the README there says what each field is.
type sign struct {
	ID      string
	Who     string
	Client  map[string]yaml.Node
	Lists   []string
	Asked   string
	Yes     []string
	Unsure  []string
	InView  []string          `yaml:"in_view"`
	Seen    map[string]string // question → day
	Scored  map[string]signScore
	Lift    string
	Want    signWant
	request *client.Request
	profile *v1.Profile
	hurts   []*v1.Complaint
}

type signScore struct {
	Rest         float64
	Worst        float64
	NextDay      *float64 `yaml:"next_day"` // as at rest unless told
	SettleHours  float64  `yaml:"settle_hours"`
	WakesAtNight bool     `yaml:"wakes_at_night"`
}

type signWant struct {
	Urgent   oneOrMore
	About    []string
	NoDrills bool `yaml:"no_drills"`
	Clear    *bool
	Asks     []string
	AsksNot  []string `yaml:"asks_not"`
	NoLoad   []string `yaml:"no_load"`
	Unloaded []string
	Loads    []string
	Closed   []string
	Says     []string
	SaysNot  []string `yaml:"says_not"`
}

// oneOrMore is a word or a list of them.
type oneOrMore []string

func (o *oneOrMore) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind == yaml.ScalarNode {
		*o = []string{n.Value}
		return nil
	}
	return n.Decode((*[]string)(o))
}

const signsToday = "2026-11-24"

// strictly decodes a file of testdata/signs; an unknown key is an error.
func strictly(t *testing.T, path string, into any) {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	d := yaml.NewDecoder(bytes.NewReader(data))
	d.KnownFields(true)
	require.NoError(t, d.Decode(into), path)
}

// signGroups are the clients of testdata/signs by file.
func signGroups(t *testing.T) (groups []string, clients map[string][]*sign) {
	paths, err := filepath.Glob("../testdata/signs/[0-9]*.yaml")
	require.NoError(t, err)
	clients = map[string][]*sign{}
	seen := map[string]bool{}
	for _, path := range paths {
		var file struct{ Clients []*sign }
		strictly(t, path, &file)
		for _, s := range file.Clients {
			require.False(t, seen[s.ID], "%s stands twice", s.ID)
			require.NotEmpty(t, s.Want.Urgent, s.ID)
			seen[s.ID] = true
		}
		name := strings.TrimSuffix(filepath.Base(path), ".yaml")
		groups, clients[name] = append(groups, name), file.Clients
	}
	return groups, clients
}

// regionAndSide parts "shoulder LEFT".
func regionAndSide(s string) (region, side string) {
	region, side, _ = strings.Cut(s, " ")
	return region, side
}

// file is the client as a client file.
func (s *sign) file(t *testing.T, base map[string]yaml.Node) []byte {
	fields := map[string]yaml.Node{}
	for _, from := range []map[string]yaml.Node{base, s.Client} {
		for key, value := range from {
			fields[key] = value
		}
	}
	put := func(key, text string, args ...any) {
		var document yaml.Node
		require.NoError(t, yaml.Unmarshal(fmt.Appendf(nil, text, args...), &document), key)
		fields[key] = *document.Content[0]
	}
	put("as_of", signsToday)
	if _, has := fields["screening"]; !has && s.Asked != "never" {
		put("screening", "{list: everyone, on: %s, others: NO, also: [%s]}", or(s.Asked, signsToday), strings.Join(s.lists(t), ", "))
	}
	if answers := s.answers(); answers != "" {
		already := fields["answers"]
		put("answers", "{%s}", answers)
		added := fields["answers"]
		added.Content = append(added.Content, already.Content...)
		fields["answers"] = added
	}
	if len(s.Scored) > 0 {
		put("pain", "{%s}", s.scores())
	}
	root := yaml.Node{Kind: yaml.MappingNode}
	for _, key := range slices.Sorted(mapKeys(fields)) {
		if value := fields[key]; value.Tag != "!!null" {
			root.Content = append(root.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, &value)
		}
	}
	text, err := yaml.Marshal(&root)
	require.NoError(t, err)
	return text
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func mapKeys[V any](m map[string]V) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// lists are those of the complaints' regions and those named.
func (s *sign) lists(t *testing.T) []string {
	var complaints []struct{ Region string }
	if n, ok := s.Client["complaints"]; ok {
		require.NoError(t, n.Decode(&complaints))
	}
	lists := slices.Clone(s.Lists)
	for _, c := range complaints {
		if !slices.Contains(lists, c.Region) {
			lists = append(lists, c.Region)
		}
	}
	return lists
}

func (s *sign) answers() string {
	var all []string
	for _, id := range s.Yes {
		all = append(all, fmt.Sprintf("%s: {is: YES, date: %s}", id, signsToday))
	}
	for _, id := range s.Unsure {
		all = append(all, fmt.Sprintf("%s: {is: UNSURE, date: %s}", id, signsToday))
	}
	for _, id := range s.InView {
		all = append(all, fmt.Sprintf("%s: {is: NO, date: %s, complaint_in_view: true}", id, signsToday))
	}
	for _, id := range slices.Sorted(mapKeys(s.Seen)) {
		all = append(all, fmt.Sprintf("%s: {is: YES, date: %s, looked_at: %s}", id, signsToday, s.Seen[id]))
	}
	return strings.Join(all, ", ")
}

func (s *sign) scores() string {
	sides := map[string][]string{}
	for _, where := range slices.Sorted(mapKeys(s.Scored)) {
		region, side := regionAndSide(where)
		p := s.Scored[where]
		if p.NextDay == nil {
			p.NextDay = &p.Rest
		}
		sides[region] = append(sides[region], fmt.Sprintf(
			"%s: {rest: %g, worst: %g, next_day: %g, settle_hours: %g, wakes_at_night: %t, date: %s}",
			or(strings.ToLower(side), "midline"), p.Rest, p.Worst, *p.NextDay, p.SettleHours, p.WakesAtNight, signsToday))
	}
	var all []string
	for _, region := range slices.Sorted(mapKeys(sides)) {
		all = append(all, fmt.Sprintf("%s: {%s}", region, strings.Join(sides[region], ", ")))
	}
	return strings.Join(all, ", ")
}

// signRun holds clients against an edition.
type signRun struct {
	*testing.T
	e         *rules.Edition
	validator protovalidate.Validator
	ask       v1.SelectionServiceClient
	base      map[string]yaml.Node
}

// TestSigns: no sign is lost, and nobody is sent away for nothing.
func TestSigns(t *testing.T) {
	if testing.Short() {
		t.Skip("judges the whole catalogue many times over")
	}
	validator, err := protovalidate.New()
	require.NoError(t, err)
	s, err := New(Config{Edition: embedded()})
	require.NoError(t, err)
	conn, stop, err := s.Local()
	require.NoError(t, err)
	defer stop()
	run := signRun{T: t, e: embedded(), validator: validator, ask: v1.NewSelectionServiceClient(conn)}
	strictly(t, "../testdata/signs/base.yaml", &run.base)
	groups, clients := signGroups(t)
	right, all := 0, 0
	for _, group := range groups {
		rightHere := 0
		for _, s := range clients[group] {
			faults := run.faults(s)
			if len(faults) == 0 {
				rightHere++
				continue
			}
			t.Errorf("%s: %s\n\t%s", s.ID, s.Who, strings.Join(faults, "\n\t"))
		}
		t.Logf("%-36s %3d of %3d", group, rightHere, len(clients[group]))
		right, all = right+rightHere, all+len(clients[group])
	}
	t.Logf("%-36s %3d of %3d", "all", right, all)
}

// faults are what is wanted of the answer to a client and isn't there.
func (r *signRun) faults(s *sign) []string {
	if err := r.read(s); err != nil {
		return []string{"not read: " + strings.ReplaceAll(err.Error(), "\n", "; ")}
	}
	header, words := r.answer(s)
	f := signFaults{signRun: r, s: s, screening: header.Screening, words: strings.ToLower(words)}
	f.referrals()
	f.questions()
	f.said()
	f.drills()
	return f.list
}

// read makes the request of the client, as the service would.
func (r *signRun) read(s *sign) error {
	file, err := clientfile.Read(authored.File{Name: s.ID + ".yaml", Data: s.file(r.T, r.base)})
	if err != nil {
		return err
	}
	asked := &v1.ScreenRequest{Profile: file.Profile, Complaints: file.Complaints, AsOf: file.AsOf}
	if err := r.validator.Validate(asked); err != nil {
		return err
	}
	q, wrong := converted(asked)
	q.Lift, s.request, s.profile, s.hurts = s.Lift, q, file.Profile, file.Complaints
	return client.NewInvalid(append(wrong, check(r.e.Frame, q)...))
}

// answer is the header of the answer, and all its words.
func (r *signRun) answer(s *sign) (*v1.AnswerHeader, string) {
	var all proto.Message
	var header *v1.AnswerHeader
	if s.Lift != "" {
		a, err := r.ask.Substitute(r.Context(), &v1.SubstituteRequest{Profile: s.profile, Complaints: s.hurts, AsOf: signsToday, Lift: s.Lift})
		require.NoError(r, err, s.ID)
		all, header = a, a.Header
	} else {
		a, err := r.ask.Screen(r.Context(), &v1.ScreenRequest{Profile: s.profile, Complaints: s.hurts, AsOf: signsToday})
		require.NoError(r, err, s.ID)
		all, header = a, a.Header
	}
	return header, protojson.Format(all)
}

// signFaults gathers what is wrong with one answer.
type signFaults struct {
	*signRun
	s         *sign
	screening *v1.ScreeningResult
	words     string
	list      []string
}

func (f *signFaults) add(format string, args ...any) {
	f.list = append(f.list, fmt.Sprintf(format, args...))
}

func (f *signFaults) referrals() {
	w, most := &f.s.Want, "none"
	if len(f.screening.Referrals) > 0 {
		most = strings.ToLower(f.screening.Referrals[0].Urgency.String())
	}
	if !slices.Contains(w.Urgent, most) {
		f.add("most urgent: %s, wanted %s", most, strings.Join(w.Urgent, " or "))
	}
	for _, about := range w.About {
		if most != "none" && !slices.ContainsFunc(f.screening.Referrals, func(have *v1.Referral) bool {
			return have.Urgency == f.screening.Referrals[0].Urgency && isAbout(have, about)
		}) {
			f.add("no referral %s about %s", most, about)
		}
	}
	if f.screening.NoDrills != w.NoDrills {
		f.add("no drills: %t, with the questions %v", f.screening.NoDrills, f.asked())
	}
	clear := slices.Equal(w.Urgent, []string{"none"}) && len(w.Asks) == 0 && !w.NoDrills
	if w.Clear != nil {
		clear = *w.Clear
	}
	either := w.Clear == nil && len(w.Urgent) > 1
	if is := f.screening.Outcome == v1.Outcome_NO_WARNING_SIGNS_FOUND; is != clear && !either {
		f.add("outcome %s, with the questions %v", f.screening.Outcome, f.asked())
	}
}

func isAbout(have *v1.Referral, about string) bool {
	if about == "person" {
		return have.Scope == v1.Scope_PERSON
	}
	region, side := regionAndSide(about)
	return have.Region == region && (side == "" || have.Side == "" || have.Side == side)
}

func (f *signFaults) asked() (ids []string) {
	for _, q := range f.screening.Questions {
		ids = append(ids, q.Id)
	}
	return ids
}

func (f *signFaults) questions() {
	asked := f.asked()
	for _, id := range f.s.Want.Asks {
		if !slices.Contains(asked, id) {
			f.add("%s isn't asked, but %v", id, asked)
		}
	}
	for _, id := range f.s.Want.AsksNot {
		if slices.Contains(asked, id) {
			f.add("%s is asked", id)
		}
	}
}

func (f *signFaults) said() {
	for _, words := range f.s.Want.Says {
		if !strings.Contains(f.words, words) {
			f.add("doesn't say %q", words)
		}
	}
	for _, words := range f.s.Want.SaysNot {
		if strings.Contains(f.words, words) {
			f.add("says %q", words)
		}
	}
}

// drills holds the verdicts against what is wanted.
func (f *signFaults) drills() {
	w := &f.s.Want
	for _, where := range w.NoLoad {
		left := f.left(func(d *catalog.Drill, side int) bool {
			return where == "everything" && d.Loads || loadsThere(f.e, d, side, where)
		})
		if len(left) > 0 {
			f.add("%d drills load %s: %s", len(left), where, strings.Join(left[:min(4, len(left))], ", "))
		}
	}
	for _, where := range w.Loads {
		if len(f.left(func(d *catalog.Drill, side int) bool { return loadsThere(f.e, d, side, where) })) == 0 {
			f.add("nothing loads %s", where)
		}
	}
	for _, where := range w.Unloaded {
		if len(f.left(func(d *catalog.Drill, side int) bool { return movesThere(d, side, where) })) == 0 {
			f.add("nothing without load for %s", where)
		}
	}
	for _, id := range w.Closed {
		require.NotNil(f, f.e.Catalogue.Drill(id), "%s: there is no drill %q", f.s.ID, id)
	}
	for _, id := range f.left(func(d *catalog.Drill, _ int) bool { return slices.Contains(w.Closed, d.ID) }) {
		f.add("%s isn't closed", id)
	}
}

// left are the drills that aren't barred on some side for which they count.
func (f *signFaults) left(counts func(d *catalog.Drill, side int) bool) []string {
	if f.screening.NoDrills {
		return nil
	}
	facts := client.Derive(f.e.Frame, f.s.request)
	defer facts.Done()
	j := f.e.Judge(facts, f.e.Catalogue.Drill(f.s.Lift))
	defer j.Done()
	var left []string
	for side := range 2 {
		var one, both []string
		for _, d := range f.e.Catalogue.Drills {
			switch {
			case j.Verdict(d, side) == rules.NotToday || !counts(d, side):
			case d.Sides == catalog.OneSide:
				one = append(one, d.ID)
			case j.Verdict(d, 1-side) != rules.NotToday:
				both = append(both, d.ID)
			}
		}
		left = append(append(left, f.notBarred(one, string(client.Sides[side]))...), f.notBarred(both, "")...)
	}
	slices.Sort(left)
	return slices.Compact(left)
}

// notBarred are those of some drills that Explain, which hears screening as well, leaves on a side; "" is both together.
func (f *signFaults) notBarred(drills []string, side string) []string {
	c := rules.Case{Ask: rules.CaseAsk{Screen: true, Side: authored.Text{Value: side}}}
	for i, id := range drills {
		c.Want.Barred = append(c.Want.Barred, authored.Text{Value: id, At: authored.Pos{Line: i}})
	}
	var left []string
	outcomes, _ := selection.RunCases(context.Background(), f.e, []selection.Case{{Case: &c, Request: f.s.request}}, nil)
	for _, fault := range outcomes[0].Faults {
		left = append(left, drills[fault.At.Line])
	}
	return left
}

// loadsThere is whether a drill on a side puts load on a region of the body: it drives or supports it above mere motion, or a
// muscle that works or helps crosses it and another region that is so driven.
func loadsThere(e *rules.Edition, d *catalog.Drill, side int, where string) bool {
	region, on := regionAndSide(where)
	if !d.Loads {
		return false
	}
	for i := range d.Rows {
		body := side
		if i == 1 {
			body = 1 - side
		}
		if load := d.Rows[i].Load(region); load != nil && load.Role != "brace" && aboveMotion(e, load) && there(e, d, region, on, body) {
			return true
		}
	}
	v := e.Catalogue.Vocabulary
	return there(e, d, region, on, side) && slices.ContainsFunc(slices.Concat(d.Muscles.Prime, d.Muscles.Assist), func(id string) bool {
		crosses := v.Muscles[v.Index("muscle", id)].Crosses
		return slices.Contains(crosses, region) && slices.ContainsFunc(crosses, func(other string) bool {
			load := d.Rows[0].Load(other)
			return load != nil && load.Role == "drive" && aboveMotion(e, load)
		})
	})
}

func aboveMotion(e *rules.Edition, load *catalog.RegionLoad) bool {
	return e.Frame.Ladder(load.Region).Index(load.Rung) > 0
}

// there is whether what a drill does on a side of the body happens on the side that is meant.
func there(e *rules.Edition, d *catalog.Drill, region, on string, body int) bool {
	return on == "" || !e.Frame.Vocabulary.Sided(region) || d.Sides != catalog.OneSide || string(client.Sides[body]) == on
}

// movesThere is whether a drill without load is for a region of the body.
func movesThere(d *catalog.Drill, side int, where string) bool {
	region, on := regionAndSide(where)
	load := d.Rows[0].Load(region)
	return !d.Loads && load != nil && load.Role == "drive" && (on == "" || d.Sides != catalog.OneSide || string(client.Sides[side]) == on)
}
