package server

import (
	"context"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// fieldRow is a row of the table of fields: a field of a struct of rules/client.
type fieldRow struct {
	reflect.StructField
	of    reflect.Type
	field protoreflect.FieldDescriptor
}

func (r *fieldRow) String() string { return "client." + r.of.Name() + "." + r.Name }

// fieldRows are the rows by the contract's field, but for those that say whether it was sent.
func fieldRows(t *testing.T) map[protoreflect.FullName]*fieldRow {
	rows := map[protoreflect.FullName]*fieldRow{}
	var visit func(of reflect.Type, in protoreflect.MessageDescriptor)
	visit = func(of reflect.Type, in protoreflect.MessageDescriptor) {
		for i := range of.NumField() {
			r := &fieldRow{StructField: of.Field(i), of: of}
			name := r.Tag.Get("field")
			if name == "" || strings.HasSuffix(name, "?") {
				continue
			}
			for _, way := range strings.Split(name, ",") {
				at := in
				for _, part := range strings.Split(way, ".") {
					r.field = at.Fields().ByName(protoreflect.Name(part))
					require.NotNil(t, r.field, "%s: the contract has no field %s", r, name)
					at = messageOf(r.field)
				}
				had := rows[r.field.FullName()]
				require.True(t, had == nil || had.of == r.of && had.Name == r.Name, "%s and %s are one field", had, r)
				rows[r.field.FullName()] = r
				if item := itemOf(r.Type); item.Kind() == reflect.Struct && at != nil {
					visit(item, at)
				}
			}
		}
	}
	visit(reflect.TypeFor[client.Profile](), (&v1.Profile{}).ProtoReflect().Descriptor())
	visit(reflect.TypeFor[client.Complaint](), (&v1.Complaint{}).ProtoReflect().Descriptor())
	return rows
}

func itemOf(t reflect.Type) reflect.Type {
	if t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		return t.Elem()
	}
	return t
}

// messageOf is the message that a field holds, of an entry with sides that of a side; nil of a scalar.
func messageOf(fd protoreflect.FieldDescriptor) protoreflect.MessageDescriptor {
	of := fd.Message()
	if fd.IsMap() {
		of = fd.MapValue().Message()
	}
	if of != nil && of.Fields().ByName("midline") != nil {
		return of.Fields().ByName("midline").Message()
	}
	return of
}

// posed is a request in which a message of it may still be filled.
type posed struct {
	*v1.ExplainRequest
	at protoreflect.Message
}

// oneField is a field of the contract, and requests that differ in it alone.
type oneField struct {
	name          string
	field         protoreflect.FieldDescriptor
	with, without func() *v1.ExplainRequest
	filled        func() posed // the message that it is in
}

const fieldsDay, fieldsAsOf = "2026-11-20", "2026-11-24"

// samples are values of fields that can't be any, and the keys of maps: of those with sides, one that has them and one that doesn't.
var samples = map[string]string{
	"BloodPressure.diastolic": "80", "BloodPressure.systolic": "130",
	"Clearance.covers": "frozen_shoulder_stiff", "Clearance.range_deg": "shoulder.flexion", "Clearance.region": "shoulder",
	"Clearance.until":  fieldsDay,
	"Complaint.region": "shoulder",
	"Condition.id":     "fracture", "Condition.region": "shoulder", "Condition.status": "PAST",
	"Kit.has":         "dumbbell",
	"LoggedSet.drill": "push-up", "LoggedSet.day": "2026-11-23", "LoggedSet.pain": "9", "LoggedSet.next_day": "9",
	"Medicine.class": "joint_steroid_injection", "Medicine.since": "2025-11-20",
	"PainfulArc.from": "20", "PainfulArc.to": "40",
	"Profile.answers":         "injury_signs",
	"Profile.best":            "push_up_test",
	"Profile.body_mass_kg":    "70",
	"Profile.disliked":        "push-up",
	"Profile.goal_lifts":      "pull-up",
	"Profile.hold_seconds":    "shoulder.flexion neck.flexion",
	"Profile.pain":            "shoulder neck",
	"Profile.painful_arc_deg": "shoulder.flexion neck.flexion",
	"Profile.passive_deg":     "shoulder.flexion neck.flexion",
	"Profile.range_deg":       "shoulder.flexion neck.flexion",
	"Profile.rung":            "shoulder neck",
	"Profile.strength_n":      "shoulder.flexion neck.flexion",
	"Screening.also":          "shoulder",
	"Screening.list":          "everyone", "Screening.others": "NO",
	"Standing.at": "isometric",
	"Surgery.id":  "cuff_repair", "Surgery.region": "shoulder",
}

// beside is what stands beside a field in both requests, where it says something only then.
var beside = map[string]func(*v1.ExplainRequest){
	"profile.clearances.surgery":        operated,
	"profile.conditions.known.region":   func(q *v1.ExplainRequest) { q.Profile.Conditions.Known[0].Status = v1.Status_NOW },
	"profile.answers.complaint_in_view": denied,
	"profile.screening.list":            othersNo,
	"profile.screening.also":            othersNo,
	"profile.screening.on":              othersNo,
	"profile.log.sets.pain":             sore,
	"profile.log.sets.next_day":         sore,
	"profile.best.date":                 func(q *v1.ExplainRequest) { eachOf(q.Profile.Best, func(b *v1.Best) { b.Reps = proto.Int32(9) }) },
	"profile.pain.date":                 func(q *v1.ExplainRequest) { eachOf(q.Profile.Pain, hurts) },
	"profile.rung.since":                sore,
	"profile.medicines.known.since":     mild,
	"complaints.looked_at":              func(q *v1.ExplainRequest) { q.Complaints[0].Days = 30 },
}

func eachOf[T any](entries map[string]*T, do func(*T)) {
	for _, x := range entries {
		do(x)
	}
}

func hurts(p *v1.SidedPain) {
	for _, x := range []*v1.Pain{p.Left, p.Right, p.Midline} {
		if x != nil {
			x.Worst = proto.Float64(5)
		}
	}
}

// mild is a complaint of which scores are presumed.
func mild(q *v1.ExplainRequest) {
	q.Profile.AgeYears, q.Lift = proto.Int32(40), "barbell-overhead-press"
	q.Profile.Conditions, q.Profile.Surgeries = &v1.Conditions{}, &v1.Surgeries{}
	lists := embedded().Frame.ListIDs()
	q.Profile.Screening = &v1.Screening{List: lists[0], Also: lists[1:], On: q.AsOf, Others: v1.Reply_NO}
	q.Complaints = []*v1.Complaint{{Region: "shoulder", Side: v1.Side_LEFT, Intensity: proto.Float64(3), Moment: v1.Moment_BOTTOM,
		Kind: v1.PainKind_ACHE, Onset: v1.Onset_GRADUAL, Days: 21}}
}

func operated(q *v1.ExplainRequest) {
	q.Profile.Surgeries = &v1.Surgeries{Known: []*v1.Surgery{{Region: "shoulder"}}}
}

func denied(q *v1.ExplainRequest) {
	sore(q)
	for _, a := range q.Profile.Answers {
		a.Is, a.Date = v1.Reply_NO, q.AsOf
	}
}

func othersNo(q *v1.ExplainRequest) {
	if q.Profile.Screening != nil {
		q.Profile.Screening.Others = v1.Reply_NO
	}
}

func sore(q *v1.ExplainRequest) {
	for _, region := range []string{"shoulder", "neck"} {
		q.Complaints = append(q.Complaints, &v1.Complaint{Region: region, Intensity: proto.Float64(3), Onset: v1.Onset_SUDDEN, Days: 4})
	}
}

func short(fd protoreflect.FieldDescriptor) string {
	return string(fd.Parent().Name()) + "." + string(fd.Name())
}

func requiredBy(t *testing.T, fd protoreflect.FieldDescriptor) bool {
	rules, err := protovalidate.ResolveFieldRules(fd)
	require.NoError(t, err)
	return rules.GetRequired()
}

// sampleOf is a value of a scalar field.
func sampleOf(t *testing.T, fd protoreflect.FieldDescriptor) protoreflect.Value {
	text, given := samples[short(fd)]
	switch fd.Kind() {
	case protoreflect.EnumKind:
		if given {
			return protoreflect.ValueOfEnum(fd.Enum().Values().ByName(protoreflect.Name(text)).Number())
		}
		return protoreflect.ValueOfEnum(1)
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.StringKind:
		rules, err := protovalidate.ResolveFieldRules(fd)
		require.NoError(t, err)
		switch {
		case given:
			return protoreflect.ValueOfString(text)
		case rules.GetString().HasPattern():
			return protoreflect.ValueOfString(fieldsDay)
		}
		return protoreflect.ValueOfString("something")
	}
	number := 7.0
	if given {
		_, err := fmt.Sscan(text, &number)
		require.NoError(t, err)
	}
	if fd.Kind() == protoreflect.Int32Kind {
		return protoreflect.ValueOfInt32(int32(number))
	}
	return protoreflect.ValueOfFloat64(number)
}

// setSample sets a field that holds no messages.
func setSample(t *testing.T, m protoreflect.Message, fd protoreflect.FieldDescriptor) {
	switch {
	case fd.IsMap():
		m.Mutable(fd).Map().Set(protoreflect.ValueOfString(samples[short(fd)]).MapKey(), sampleOf(t, fd.MapValue()))
	case fd.IsList():
		m.Mutable(fd).List().Append(sampleOf(t, fd))
	default:
		m.Set(fd, sampleOf(t, fd))
	}
}

// everyField lists every field that a profile and a complaint can have: what holds messages where it can be sent without anything
// in it, and each field of these.
func everyField(t *testing.T) []oneField {
	var all []oneField
	var visit func(path string, md protoreflect.MessageDescriptor, absent func() *v1.ExplainRequest, make func() posed)
	visit = func(path string, md protoreflect.MessageDescriptor, absent func() *v1.ExplainRequest, make func() posed) {
		filled := func() posed { // with what must be there
			p := make()
			for i := range md.Fields().Len() {
				if fd := md.Fields().Get(i); requiredBy(t, fd) {
					setSample(t, p.at, fd)
				}
			}
			return p
		}
		for i := range md.Fields().Len() {
			fd := md.Fields().Get(i)
			name := path + "." + string(fd.Name())
			without := func() *v1.ExplainRequest { return filled().ExplainRequest }
			if requiredBy(t, fd) {
				without = absent
			}
			in := messageOf(fd)
			if in == nil {
				all = append(all, oneField{name, fd, func() *v1.ExplainRequest {
					p := filled()
					if !p.at.Has(fd) {
						setSample(t, p.at, fd)
					}
					return p.ExplainRequest
				}, without, filled})
				continue
			}
			one := func(open func(protoreflect.Message) protoreflect.Message) func() posed {
				return func() posed {
					p := filled()
					return posed{p.ExplainRequest, open(p.at)}
				}
			}
			switch {
			case fd.IsMap() && fd.MapValue().Message() != in:
				keys := strings.Fields(samples[short(fd)])
				require.Len(t, keys, 2, "%s: a key with sides and one without", short(fd))
				for side, key := range map[protoreflect.Name]string{"left": keys[0], "right": keys[0], "midline": keys[1]} { // in any order
					visit(name, in, without, one(func(m protoreflect.Message) protoreflect.Message {
						entry := m.Mutable(fd).Map().Mutable(protoreflect.ValueOfString(key).MapKey()).Message()
						return entry.Mutable(entry.Descriptor().Fields().ByName(side)).Message()
					}))
				}
			case fd.IsMap():
				visit(name, in, without, one(func(m protoreflect.Message) protoreflect.Message {
					return m.Mutable(fd).Map().Mutable(protoreflect.ValueOfString(samples[short(fd)]).MapKey()).Message()
				}))
			case fd.IsList():
				visit(name, in, without, one(func(m protoreflect.Message) protoreflect.Message {
					return m.Mutable(fd).List().AppendMutable().Message()
				}))
			default:
				sent := one(func(m protoreflect.Message) protoreflect.Message { return m.Mutable(fd).Message() })
				visit(name, in, without, sent)
				if !slices.ContainsFunc(fieldsOf(in), func(fd protoreflect.FieldDescriptor) bool { return requiredBy(t, fd) }) {
					all = append(all, oneField{name, fd, func() *v1.ExplainRequest { return sent().ExplainRequest }, without, filled})
				}
			}
		}
	}
	request := func() *v1.ExplainRequest { return &v1.ExplainRequest{Profile: &v1.Profile{}, AsOf: fieldsAsOf} }
	visit("profile", (&v1.Profile{}).ProtoReflect().Descriptor(), nil, func() posed {
		q := request()
		return posed{q, q.Profile.ProtoReflect()}
	})
	visit("complaints", (&v1.Complaint{}).ProtoReflect().Descriptor(), request, func() posed {
		q := request()
		q.Complaints = []*v1.Complaint{{}}
		return posed{q, q.Complaints[0].ProtoReflect()}
	})
	return all
}

func fieldsOf(m protoreflect.MessageDescriptor) []protoreflect.FieldDescriptor {
	var all []protoreflect.FieldDescriptor
	for i := range m.Fields().Len() {
		all = append(all, m.Fields().Get(i))
	}
	return all
}

// An empty log says as much as none.
const noLog = "profile.log"

// tellsNoFact are the fields that change no fact by themselves, and who reads them.
var tellsNoFact = map[string]string{
	"profile.ref":                     "the answer, which gives it back",
	"profile.kit":                     "the answer, which says that no kit was told",
	noLog:                             "nobody: it says as much as none",
	"profile.conditions.known.detail": "a coach",
	"profile.range_deg.position":      "a coach",
	"profile.passive_deg.position":    "a coach",
	"profile.strength_n.position":     "a coach",
	"profile.hold_seconds.position":   "a coach",
	"profile.passive_deg.by":          "nobody: only an active range has a margin",
	"profile.strength_n.by":           "nobody: only an active range has a margin",
	"profile.hold_seconds.by":         "nobody: only an active range has a margin",
	"profile.log.sets.side":           "the loads of doses",
	"profile.log.sets.reps":           "the loads of doses",
	"profile.log.sets.load_kg":        "the loads of doses",
	"profile.log.sets.hold_seconds":   "the loads of doses",
	"profile.log.sets.effort":         "the loads of doses",
}

// TestEveryFieldCounts: each field of the contract, told alone, is the same after it was read and written again, changes the digest of
// the request unless its row says no, and changes a fact.
func TestEveryFieldCounts(t *testing.T) {
	e, rows := embedded(), fieldRows(t)
	quiet := map[string]bool{}
	for _, f := range everyField(t) {
		with, without := f.with(), f.without()
		if change := beside[f.name]; change != nil {
			change(with)
			change(without)
		}
		reported, wrong := converted(with)
		require.Empty(t, wrong, f.name)
		require.NoError(t, client.Check(e.Frame, reported), f.name)
		back := &v1.ExplainRequest{Profile: profileTo(reported.Profile), AsOf: dayTo(reported.AsOf), Lift: reported.Lift}
		for i := range reported.Complaints {
			back.Complaints = append(back.Complaints, complaintTo(&reported.Complaints[i]))
		}
		untold, wrong := converted(without)
		require.Empty(t, wrong, f.name)
		if f.name != noLog {
			require.True(t, proto.Equal(with, back), "%s doesn't come back: sent %s, got %s", f.name, prototext.Format(with), prototext.Format(back))
			row := rows[f.field.FullName()] // none says that a message was sent
			require.Equal(t, row == nil || row.Tag.Get("digest") != "no", untold.Digest() != reported.Digest(), "%s: whether it is in the digest",
				f.name)
		}
		if sameFacts(client.Derive(e.Frame, reported), client.Derive(e.Frame, untold)) {
			quiet[f.name] = true
			require.NotEmpty(t, tellsNoFact[f.name], "%s changes no fact", f.name)
		}
	}
	for name := range tellsNoFact {
		require.True(t, quiet[name], "%s changes a fact, or is no field", name)
	}
}

func sameFacts(a, b *client.Facts) bool {
	return fmt.Sprint(a.Num, a.Bool, a.Set, a.Status, a.Covered) == fmt.Sprint(b.Num, b.Bool, b.Set, b.Status, b.Covered)
}

// TestEveryFieldHasARow, and every row a field.
func TestEveryFieldHasARow(t *testing.T) {
	rows := fieldRows(t)
	for _, f := range everyField(t) {
		if f.field.Message() == nil || f.field.IsMap() {
			require.Contains(t, rows, f.field.FullName(), "no field of rules/client has the row of %s", f.name)
		}
	}
}

// TestLimitsAreTheContracts: a number, a word and a day have the limits in the table that they have in the contract.
func TestLimitsAreTheContracts(t *testing.T) {
	e := embedded()
	for name, row := range fieldRows(t) {
		fd := row.field
		limits, err := protovalidate.ResolveFieldRules(fd)
		require.NoError(t, err)
		switch kind := fd.Kind(); {
		case fd.IsList() || fd.IsMap():
		case kind == protoreflect.Int32Kind && (limits.GetInt32().HasGte() || limits.GetInt32().HasLte()):
			limit := fmt.Sprintf("%d..%d", limits.GetInt32().GetGte(), limits.GetInt32().GetLte())
			require.Equal(t, limit, row.Tag.Get("range"), "range of %s", row)
		case kind == protoreflect.DoubleKind && (limits.GetDouble().HasGte() || limits.GetDouble().HasLte()):
			limit := fmt.Sprintf("%g..%g", limits.GetDouble().GetGte(), limits.GetDouble().GetLte())
			require.Equal(t, limit, row.Tag.Get("range"), "range of %s", row)
		case kind == protoreflect.Int32Kind || kind == protoreflect.DoubleKind:
			require.Empty(t, row.Tag.Get("range"), "the contract has no limits of %s", name)
		case kind == protoreflect.EnumKind:
			wordsAreTheContracts(t, row, limits.GetEnum().GetIn(), e.Frame.Vocabulary.IDs)
		case row.Type == reflect.TypeFor[client.Day]():
			require.Equal(t, limits.GetRequired(), row.Tag.Get("day") == "needed", "whether %s must be given", row)
		}
	}
}

// TestWhatIsBeyondALimitIsRefused, at its field, also by who isn't behind the contract's limits.
func TestWhatIsBeyondALimitIsRefused(t *testing.T) {
	e, rows := embedded(), fieldRows(t)
	subscripts := regexp.MustCompile(`\[[^]]*\](\.left|\.right|\.midline)?`)
	refused := 0
	for _, f := range everyField(t) {
		row := rows[f.field.FullName()]
		if row == nil || row.Tag.Get("says")+row.Tag.Get("score") == "" {
			continue
		}
		p := f.filled()
		switch f.field.Kind() {
		case protoreflect.EnumKind:
			p.at.Set(f.field, protoreflect.ValueOfEnum(99))
		case protoreflect.Int32Kind:
			p.at.Set(f.field, protoreflect.ValueOfInt32(1e6))
		default:
			p.at.Set(f.field, protoreflect.ValueOfFloat64(1e6))
		}
		q, wrong := converted(p.ExplainRequest)
		require.Empty(t, wrong)
		require.True(t, slices.ContainsFunc(check(e.Frame, q), func(v client.Violation) bool {
			return subscripts.ReplaceAllString(v.Field, "") == f.name
		}), "%s may be anything", f.name)
		refused++
	}
	require.Greater(t, refused, 30)
}

func wordsAreTheContracts(t *testing.T, row *fieldRow, in []int32, vocabulary func(string) []string) {
	var words []string
	for i := range row.field.Enum().Values().Len() {
		if v := row.field.Enum().Values().Get(i); v.Number() != 0 && (len(in) == 0 || slices.Contains(in, int32(v.Number()))) {
			words = append(words, string(v.Name()))
		}
	}
	switch {
	case row.Tag.Get("of") != "":
		require.Equal(t, words, vocabulary(row.Tag.Get("of")), "words of %s", row)
	case row.Tag.Get("words") != "":
		require.Equal(t, strings.Join(words, " "), row.Tag.Get("words"), "words of %s", row)
	default: // of any side, or told by a clinician alone
		require.Contains(t, []protoreflect.Name{"Side", "ToldBy"}, row.field.Enum().Name(), "%s has no words", row)
	}
}

// TestAbsence: a fact that is reported as it is, is unknown while nobody reports it, unless its row says what that means.
func TestAbsence(t *testing.T) {
	e := embedded()
	nothing := client.Derive(e.Frame, &client.Request{AsOf: 20781, Profile: &client.Profile{}})
	for _, of := range []reflect.Type{reflect.TypeFor[client.Profile](), reflect.TypeFor[client.Request]()} {
		for i := range of.NumField() {
			f := of.Field(i)
			path := f.Tag.Get("path")
			if of.Name() == "Profile" {
				path = "client." + path
			}
			if item := itemOf(f.Type).Kind(); f.Tag.Get("path") != "" && item != reflect.Struct {
				require.Equal(t, f.Tag.Get("absent") != "", nothing.StatusOf(path, 0).Known(), path)
			}
		}
	}
}

// TestReportsChangeTheirOwnFact: reporting a fact changes it, and no other unless its row says that it feeds others.
func TestReportsChangeTheirOwnFact(t *testing.T) {
	e := embedded()
	table := e.Frame.Table
	for _, r := range client.Reports {
		if r.Measures != nil {
			continue
		}
		var said []func(*client.Request)
		switch p := table.Path(r.Path); {
		case r.Number != nil:
			said = append(said, func(q *client.Request) { r.Number(q, p.Lo) }, func(q *client.Request) { r.Number(q, p.Hi) })
		case r.Truth != nil:
			said = append(said, func(q *client.Request) { r.Truth(q, false) }, func(q *client.Request) { r.Truth(q, true) })
		case r.Word != nil:
			for _, word := range p.Words {
				said = append(said, func(q *client.Request) { r.Word(q, word) })
			}
		default:
			said = append(said, func(q *client.Request) { *r.List(q) = []string{"push-up"} })
		}
		var changed []string
		was := client.Derive(e.Frame, &client.Request{AsOf: 20781, Profile: &client.Profile{}})
		for _, say := range said {
			q := &client.Request{AsOf: 20781, Profile: &client.Profile{}}
			say(q)
			is := client.Derive(e.Frame, q)
			for i := range table.Paths {
				if p := &table.Paths[i]; factOf(was, p) != factOf(is, p) && !slices.Contains(changed, p.Name) {
					changed = append(changed, p.Name)
				}
			}
		}
		require.Contains(t, changed, r.Path)
		require.Equal(t, r.Feeds, len(changed) > 1, "%s changes %v", r.Path, changed)
	}
}

func factOf(f *client.Facts, p *client.Path) string {
	switch p.Kind {
	case client.Number:
		return fmt.Sprint(f.Number(p.Name, 0), f.Number(p.Name, 1))
	case client.Bool:
		return fmt.Sprint(f.Truth(p.Name, 0), f.Truth(p.Name, 1))
	}
	return fmt.Sprint(f.Words(p.Name, 0), f.Words(p.Name, 1))
}

// TestEveryFieldOfAQuestionIsInItsDigest: what a question asks beside the profile and the complaints changes the digest in its receipt.
func TestEveryFieldOfAQuestionIsInItsDigest(t *testing.T) {
	s, err := New(Config{Edition: embedded()})
	require.NoError(t, err)
	ctx := context.Background()
	values := map[string]string{"as_of": "2026-11-25", "lift": "barbell-deadlift", "drill": "push-up", "kit_taken": "band",
		"stations_taken": "rack"}
	for _, plan := range embedded().Book.Plans {
		values["plan"] = plan.ID // the last is not the book's choice
	}
	who := &v1.Profile{AgeYears: proto.Int32(40)}
	for _, asks := range []proto.Message{
		&v1.ScreenRequest{Profile: who, AsOf: fieldsAsOf},
		&v1.SubstituteRequest{Profile: who, AsOf: fieldsAsOf, Lift: "barbell-overhead-press"},
		&v1.SelectRequest{Profile: who, AsOf: fieldsAsOf},
		&v1.ExplainRequest{Profile: who, AsOf: fieldsAsOf, Drill: "pull-up"},
	} {
		digest := func(m proto.Message) string {
			var a response
			var err error
			switch m := m.(type) {
			case *v1.ScreenRequest:
				a, err = s.Screen(ctx, m)
			case *v1.SubstituteRequest:
				a, err = s.Substitute(ctx, m)
			case *v1.SelectRequest:
				a, err = s.Select(ctx, m)
			case *v1.ExplainRequest:
				a, err = s.Explain(ctx, m)
			}
			require.NoError(t, err)
			return a.GetHeader().GetReceipt().GetRequestDigest()
		}
		plain := digest(asks)
		for _, fd := range fieldsOf(asks.ProtoReflect().Descriptor()) {
			if fd.Message() != nil {
				continue
			}
			other := proto.Clone(asks).ProtoReflect()
			switch value, known := values[string(fd.Name())]; {
			case fd.IsList():
				other.Mutable(fd).List().Append(protoreflect.ValueOfString(value))
			case known:
				other.Set(fd, protoreflect.ValueOfString(value))
			case fd.Kind() == protoreflect.EnumKind:
				last := fd.Enum().Values().Len() - 1
				other.Set(fd, protoreflect.ValueOfEnum(fd.Enum().Values().Get(last).Number()))
			default:
				other.Set(fd, protoreflect.ValueOfInt32(20))
			}
			require.NotEqual(t, plain, digest(other.Interface()), "%s isn't in the digest", fd.FullName())
		}
	}
}
