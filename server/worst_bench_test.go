package server

import (
	"context"
	"fmt"
	"os"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/server/clientfile"
)

// worst is a request that fills what the contract lets it fill, in the way that costs one part of a call most.
type worst struct {
	name string
	*clientfile.File
	valid bool
}

// worsts are such requests: long lists of what is known, of whom much can be trained and of whom nothing; and every mistake
// that can be made often.
func worsts(tb testing.TB, e *rules.Edition) []worst {
	var all []worst
	add := func(name, base string, valid bool, change func(c *clientfile.File)) {
		data, err := os.ReadFile("../testdata/clients/" + base + ".yaml")
		require.NoError(tb, err)
		c, err := clientfile.Read(authored.File{Name: base, Data: data})
		require.NoError(tb, err)
		change(c)
		all = append(all, worst{name, c, valid})
	}
	add("all_told", "left-shoulder-press", true, func(c *clientfile.File) {
		c.Profile = fullProfile(tb, e).Profile
		everyList(c, e)
	})
	for name, base := range map[string]string{"nothing_hurts": "nothing-hurts-full-gym", "little_told": "conditions-not-asked",
		"much_waits": "disc-back-week-ten"} {
		add(name, base, true, func(c *clientfile.File) { c.Profile.Log = fullLog(e) })
	}
	add("unknown_drills", "nothing-hurts-full-gym", true, func(c *clientfile.File) {
		c.Profile.Log = fullLog(e)
		for i, s := range c.Profile.Log.Sets {
			s.Drill = long(i, 128)
		}
	})
	add("misspelt_drills", "nothing-hurts-full-gym", true, func(c *clientfile.File) {
		c.Profile.Log = fullLog(e)
		for i, s := range c.Profile.Log.Sets {
			s.Drill = fmt.Sprintf("%s-zzzzzzzzzzzz%d", e.Catalogue.DrillIDs()[i%len(e.Catalogue.DrillIDs())], i)
		}
	})
	add("no_such_days", "left-shoulder-press", false, func(c *clientfile.File) {
		c.Profile = fullProfile(tb, e).Profile
		everyList(c, e)
		eachField(c.Profile.ProtoReflect(), func(m protoreflect.Message, fd protoreflect.FieldDescriptor) {
			if fd.Kind() == protoreflect.StringKind && len(m.Get(fd).String()) == len("2026-02-30") && strings.HasPrefix(m.Get(fd).String(), "20") {
				m.Set(fd, protoreflect.ValueOfString("2026-02-30"))
			}
		})
	})
	add("unknown_words", "left-shoulder-press", false, func(c *clientfile.File) {
		c.Profile = fullProfile(tb, e).Profile
		everyList(c, e)
		unknownWords(c.Profile)
	})
	add("outside_limits", "left-shoulder-press", false, func(c *clientfile.File) {
		c.Profile = fullProfile(tb, e).Profile
		everyList(c, e)
		unknownWords(c.Profile)
		eachField(c.Profile.ProtoReflect(), outside)
	})
	return all
}

// long is an unknown word of so many letters, made of parts of known ones.
func long(i, length int) string {
	id := fmt.Sprintf("barbel-press-%04d-", i)
	return id + strings.Repeat("one-arm-landmine-", 20)[:length-len(id)]
}

// unknownWords fills the maps with keys that nobody knows.
func unknownWords(p *v1.Profile) {
	one := p.RangeDeg["shoulder.flexion"]
	three := &v1.SidedMeasure{Left: one.Left, Right: one.Right, Midline: one.Left}
	for _, m := range []map[string]*v1.SidedMeasure{p.RangeDeg, p.PassiveDeg, p.StrengthN, p.HoldSeconds} {
		clear(m)
		for i := range 120 {
			m[long(i, 80)] = proto.CloneOf(three)
		}
	}
	arc := p.PainfulArcDeg["shoulder.flexion"]
	clear(p.PainfulArcDeg)
	for i := range 120 {
		p.PainfulArcDeg[long(i, 80)] = proto.CloneOf(arc)
	}
	clear(p.Answers)
	for i := range 300 {
		p.Answers[long(i, 80)] = &v1.Answer{Is: v1.Reply_NO, Date: "2026-11-24"}
	}
	for i := range p.Kit.Has {
		p.Kit.Has[i] = long(i, 80)
	}
	for i, s := range p.Log.Sets {
		s.Drill = long(i, 128)
	}
}

// outside puts a value beyond its limits into a field.
func outside(m protoreflect.Message, fd protoreflect.FieldDescriptor) {
	switch fd.Kind() {
	case protoreflect.StringKind:
		m.Set(fd, protoreflect.ValueOfString(strings.Repeat("x", 600)))
	case protoreflect.Int32Kind:
		m.Set(fd, protoreflect.ValueOfInt32(-1))
	case protoreflect.DoubleKind:
		m.Set(fd, protoreflect.ValueOfFloat64(-1e9))
	case protoreflect.EnumKind:
		m.Set(fd, protoreflect.ValueOfEnum(99))
	}
}

// eachField visits every single field with a value of its own, in all messages within a message.
func eachField(m protoreflect.Message, do func(protoreflect.Message, protoreflect.FieldDescriptor)) {
	m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case fd.IsMap() && fd.MapValue().Message() != nil:
			v.Map().Range(func(_ protoreflect.MapKey, v protoreflect.Value) bool {
				eachField(v.Message(), do)
				return true
			})
		case fd.IsList() && fd.Message() != nil:
			for i := range v.List().Len() {
				eachField(v.List().Get(i).Message(), do)
			}
		case fd.IsMap() || fd.IsList():
		case fd.Message() != nil:
			eachField(v.Message(), do)
		default:
			do(m, fd)
		}
		return true
	})
}

func fullLog(e *rules.Edition) *v1.TrainingLog {
	log, ids := &v1.TrainingLog{}, e.Catalogue.DrillIDs()
	for i := range 1000 {
		log.Sets = append(log.Sets, &v1.LoggedSet{Drill: ids[(i*7)%len(ids)], Day: fmt.Sprintf("2026-11-%02d", 1+i%20),
			Side: v1.Side(1 + i%2), Reps: int32(1 + i%12),
			LoadKg: float64(10 + i%50), HoldSeconds: 1, Effort: proto.Float64(7), Pain: proto.Float64(2), NextDay: proto.Float64(1)})
	}
	return log
}

// everyList fills every list of a request with what is known.
func everyList(c *clientfile.File, e *rules.Edition) {
	p, v := c.Profile, e.Frame.Vocabulary
	sideOf := func(sided bool, i int) v1.Side {
		if sided {
			return v1.Side(1 + i%2)
		}
		return v1.Side_SIDE_UNSPECIFIED
	}
	p.Log = fullLog(e)
	p.Conditions, p.Surgeries, p.Medicines, p.Clearances = &v1.Conditions{}, &v1.Surgeries{}, &v1.Medicines{}, nil
	medicines, ids := v.IDs("medicine"), e.Catalogue.DrillIDs()
	for i := range 50 {
		region := v.Regions[i%len(v.Regions)]
		p.Conditions.Known = append(p.Conditions.Known, &v1.Condition{Id: v.Conditions[i%len(v.Conditions)].ID, ToldBy: v1.ToldBy_CLINICIAN,
			Since: "2026-11-01", Detail: strings.Repeat("x", 500)})
		p.Surgeries.Known = append(p.Surgeries.Known, &v1.Surgery{Id: "operation", Region: region.ID, Side: sideOf(region.Sided, i),
			Date: "2026-01-01"})
		p.Medicines.Known = append(p.Medicines.Known, &v1.Medicine{Class: medicines[i%len(medicines)], Since: "2026-01-01"})
	}
	for i := range 20 {
		region := v.Regions[i%len(v.Regions)]
		k := &v1.Clearance{By: v1.ToldBy_CLINICIAN, Region: region.ID, Side: sideOf(region.Sided, i), Given: "2026-11-20",
			RangeDeg: map[string]float64{}, LoadKg: proto.Float64(20), Surgery: true}
		for _, m := range v.Motions {
			if m.HasRange() && len(k.RangeDeg) < 50 {
				k.RangeDeg[m.ID] = m.Limits[1] * 0.9
			}
		}
		for _, c := range v.Conditions {
			for _, r := range c.Regions {
				if r == region.ID && len(k.Covers) < 20 {
					k.Covers = append(k.Covers, c.ID)
				}
			}
		}
		p.Clearances = append(p.Clearances, k)
	}
	p.PainfulArcDeg, p.PassiveDeg = map[string]*v1.SidedArc{}, map[string]*v1.SidedMeasure{}
	for _, m := range v.Motions {
		if !m.HasRange() {
			continue
		}
		p.PassiveDeg[m.ID] = proto.CloneOf(p.RangeDeg[m.ID])
		arc := &v1.PainfulArc{From: proto.Float64(m.Limits[0]), To: proto.Float64(m.Limits[1])}
		if m.Sided {
			p.PainfulArcDeg[m.ID] = &v1.SidedArc{Left: arc, Right: proto.CloneOf(arc)}
		} else {
			p.PainfulArcDeg[m.ID] = &v1.SidedArc{Midline: arc}
		}
	}
	p.Kit.Has = slices.Clone(v.IDs("kit"))
	p.GoalLifts, p.Disliked = ids[:20], ids[100:200]
	c.Complaints = nil
	for i := range 20 {
		region := v.Regions[i%len(v.Regions)]
		c.Complaints = append(c.Complaints, &v1.Complaint{Region: region.ID, Side: sideOf(region.Sided, i), Intensity: proto.Float64(3),
			Moment: v1.Moment(1 + i%9),
			Kind:   v1.PainKind_ACHE, Onset: v1.Onset_GRADUAL, Days: 20})
	}
}

// questions ask each of the four, of some drills each: the first of a list is asked in tests.
func questions(e *rules.Edition, s v1.SelectionServiceClient) map[string][]func(context.Context, *clientfile.File) error {
	all := map[string][]func(context.Context, *clientfile.File) error{"screen": {func(ctx context.Context, c *clientfile.File) error {
		_, err := s.Screen(ctx, &v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf})
		return err
	}}}
	taken := e.Frame.Vocabulary.IDs("station")
	for _, lift := range []string{"barbell-overhead-press", "barbell-back-squat", "handstand-push-up"} {
		all["substitute"] = append(all["substitute"], func(ctx context.Context, c *clientfile.File) error {
			_, err := s.Substitute(ctx, &v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: lift, Limit: 100,
				View: v1.View_REASONS})
			return err
		})
	}
	for _, plan := range []string{"whole-body-session", "ankle-session", "shoulder-session"} {
		all["select"] = append(all["select"], func(ctx context.Context, c *clientfile.File) error {
			_, err := s.Select(ctx, &v1.SelectRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Plan: plan, Minutes: 90,
				StationsTaken: taken[:1], View: v1.View_REASONS})
			return err
		})
	}
	for _, drill := range []string{"behind-neck-press", "stick-assisted-flexion-low", "handstand-push-up", "barbell-deep-squat"} {
		all["explain"] = append(all["explain"], func(ctx context.Context, c *clientfile.File) error {
			_, err := s.Explain(ctx, &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: drill})
			return err
		})
	}
	return all
}

// BenchmarkWorst measures what the worst requests cost that the contract's limits let through: the processor time of a whole
// call over loopback, on both ends. Of each shape the costliest question counts.
func BenchmarkWorst(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(HeapGrowth)) // as serve runs
	e := embedded()
	s, err := New(Config{Edition: e, CheckShare: -1})
	require.NoError(b, err)
	all, shapes := questions(e, dial(b, s, s)), worsts(b, e)
	for _, name := range []string{"screen", "substitute", "select", "explain"} {
		b.Run(name, func(b *testing.B) {
			for _, c := range shapes {
				b.Run(c.name, func(b *testing.B) {
					most := 0.0
					for _, ask := range all[name] {
						before := processorTime()
						for range b.N {
							if err := ask(b.Context(), c.File); (err == nil) != c.valid {
								b.Fatal(err)
							}
						}
						most = max(most, float64(processorTime()-before)/float64(b.N)/1e6)
					}
					b.ReportMetric(most, "cpu-ms/op")
				})
			}
		})
	}
}

// TestACallEndsWhenNobodyWaits: whatever is asked, the work ends with the caller's patience, and says so.
func TestACallEndsWhenNobodyWaits(t *testing.T) {
	e := embedded()
	s, err := New(Config{Edition: e, CheckShare: -1})
	require.NoError(t, err)
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for _, c := range worsts(t, e) {
		for _, asked := range []asking{
			&v1.ScreenRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf},
			&v1.SubstituteRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Lift: "barbell-overhead-press"},
			&v1.SelectRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf},
			&v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: "barbell-overhead-press"},
		} {
			_, err := s.validate(gone, asked, nil, func(ctx context.Context, req any) (any, error) {
				switch req := req.(type) {
				case *v1.ScreenRequest:
					return s.Screen(ctx, req)
				case *v1.SubstituteRequest:
					return s.Substitute(ctx, req)
				case *v1.SelectRequest:
					return s.Select(ctx, req)
				default:
					return s.Explain(ctx, req.(*v1.ExplainRequest))
				}
			})
			require.ErrorIs(t, err, context.Canceled, "%s %T", c.name, asked)
		}
	}
}
