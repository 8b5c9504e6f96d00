package server

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// Nothing of a profile is lost on its way in: what the domain holds makes the same message again.
func TestProfileRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := &v1.Profile{}
		fill(t, sent.ProtoReflect())
		if len(sent.GetLog().GetSets()) == 0 {
			sent.Log = nil // an empty log says as much as none
		}
		r := &reader{keys: &client.Keys{}}
		r.toProfile(sent)
		if len(r.list) > 0 {
			t.Fatalf("good days refused: %v", r.list)
		}
		if back := profileTo(&r.profile); !proto.Equal(sent, back) {
			t.Fatalf("sent %v\ngot  %v", sent, back)
		}
	})
}

func TestComplaintRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sent := &v1.Complaint{}
		fill(t, sent.ProtoReflect())
		sent.Intensity = proto.Float64(rapid.Float64Range(0, 10).Draw(t, "intensity"))
		c := complaintFrom(sent)
		back := &v1.Complaint{Region: c.Region, Side: enum[v1.Side](string(c.Side), v1.Side_value), Intensity: &c.Intensity,
			Moment: enum[v1.Moment](c.Moment, v1.Moment_value), Kind: enum[v1.PainKind](c.Kind, v1.PainKind_value),
			Onset: enum[v1.Onset](c.Onset, v1.Onset_value), Days: int32(c.Days)}
		if !proto.Equal(sent, back) {
			t.Fatalf("sent %v\ngot  %v", sent, back)
		}
	})
}

func TestMinusZeroIsZero(t *testing.T) {
	require.False(t, math.Signbit(fold(math.Copysign(0, -1))))
}

// fill draws every field of a message: any field may be left out that the contract doesn't require.
func fill(t *rapid.T, m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		name := string(fd.Name())
		switch {
		case fd.IsMap():
			for range rapid.IntRange(0, 2).Draw(t, name) {
				key := protoreflect.ValueOfString(word5().Draw(t, "key")).MapKey()
				if fd.MapValue().Message() != nil {
					fillEntry(t, m.Mutable(fd).Map().Mutable(key).Message())
				} else {
					m.Mutable(fd).Map().Set(key, scalar(t, fd.MapValue()))
				}
			}
		case fd.IsList():
			for range rapid.IntRange(0, 2).Draw(t, name) {
				if fd.Message() != nil {
					fill(t, m.Mutable(fd).List().AppendMutable().Message())
				} else {
					m.Mutable(fd).List().Append(scalar(t, fd))
				}
			}
		case fd.Message() != nil:
			if rapid.Bool().Draw(t, name) {
				fill(t, m.Mutable(fd).Message())
			}
		case required(fd) || rapid.Bool().Draw(t, name):
			m.Set(fd, scalar(t, fd))
		}
	}
}

// fillEntry fills a map's value; an entry with no side at all would be nothing to keep.
func fillEntry(t *rapid.T, m protoreflect.Message) {
	fill(t, m)
	if left := m.Descriptor().Fields().ByName("left"); left != nil && !slices.ContainsFunc([]protoreflect.Name{"left", "right", "midline"},
		func(n protoreflect.Name) bool { return m.Has(m.Descriptor().Fields().ByName(n)) }) {
		fill(t, m.Mutable(left).Message())
	}
}

// required fields of numbers have presence on the wire and none in the domain.
func required(fd protoreflect.FieldDescriptor) bool {
	return slices.Contains([]protoreflect.FullName{"drillwright.v1.Measure.value", "drillwright.v1.PainfulArc.from",
		"drillwright.v1.PainfulArc.to", "drillwright.v1.Complaint.intensity"}, fd.FullName())
}

func word5() *rapid.Generator[string] { return rapid.StringMatching(`[a-z]{1,5}(\.[a-z]{1,5})?`) }

func scalar(t *rapid.T, fd protoreflect.FieldDescriptor) protoreflect.Value {
	switch name := string(fd.Name()); fd.Kind() {
	case protoreflect.EnumKind:
		return protoreflect.ValueOfEnum(protoreflect.EnumNumber(rapid.IntRange(0, fd.Enum().Values().Len()-1).Draw(t, name)))
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(rapid.Bool().Draw(t, name))
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(rapid.Int32Range(0, 400).Draw(t, name))
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(fold(rapid.Float64Range(-400, 400).Draw(t, name)))
	default:
		if slices.Contains([]string{"date", "since", "given", "until", "on", "day"}, name) {
			return protoreflect.ValueOfString(client.Day(rapid.IntRange(1, 30000).Draw(t, name)).String())
		}
		return protoreflect.ValueOfString(word5().Draw(t, name))
	}
}

// profileTo is the way back. Only this test needs it.
func profileTo(p *client.Profile) *v1.Profile {
	out := &v1.Profile{
		Ref: p.Ref, AgeYears: narrow(p.AgeYears), Sex: enum[v1.Sex](p.Sex, v1.Sex_value), Training: enum[v1.Training](p.Training, v1.Training_value),
		BodyMassKg: p.BodyMassKg, DominantSide: enum[v1.Side](string(p.DominantSide), v1.Side_value), GoalLifts: p.GoalLifts, Disliked: p.Disliked,
		Beighton: narrow(p.Beighton), Confidence: narrow(p.Confidence), ProgrammeWeek: narrow(p.ProgrammeWeek),
		PainkillerToday: p.PainkillerToday, Supervised: p.Supervised, GuardianPresent: p.GuardianPresent,
		RangeDeg: measuresTo(p.RangeDeg), PassiveDeg: measuresTo(p.PassiveDeg), StrengthN: measuresTo(p.StrengthN), HoldSeconds: measuresTo(p.HoldSeconds),
		Best: map[string]*v1.Best{}, Pain: map[string]*v1.SidedPain{}, Rung: map[string]*v1.SidedRung{}, Answers: map[string]*v1.Answer{},
		PainfulArcDeg: map[string]*v1.SidedArc{},
	}
	if p.KitTold {
		out.Kit = &v1.Kit{Has: p.Kit}
	}
	healthTo(p, out)
	for _, b := range p.Best {
		out.Best[b.Test] = &v1.Best{Sets: narrow(b.Sets), Reps: narrow(b.Reps), LoadKg: b.LoadKg, Form: enum[v1.Form](b.Form, v1.Form_value), Pain: b.Pain, Date: dayTo(b.Day)}
	}
	for _, x := range p.Pain {
		e := entryOf(out.Pain, x.Region)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.Pain{Rest: x.Rest, Worst: x.Worst, NextDay: x.NextDay, SettleHours: x.SettleHours, WakesAtNight: x.WakesAtNight, Date: dayTo(x.Day)})
	}
	for _, x := range p.Rungs {
		e := entryOf(out.Rung, x.Region)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.Standing{At: x.At, Since: dayTo(x.Since)})
	}
	for _, x := range p.PainfulArcs {
		e := entryOf(out.PainfulArcDeg, x.Motion)
		put(x.Side, &e.Left, &e.Right, &e.Midline, &v1.PainfulArc{From: &x.From, To: &x.To})
	}
	for _, a := range p.Answers {
		out.Answers[a.Question] = &v1.Answer{Is: enum[v1.Reply](a.Is, v1.Reply_value), Date: dayTo(a.Day)}
	}
	if s := p.Screening; s != nil {
		out.Screening = &v1.Screening{List: s.Lists[0], Also: s.Lists[1:], On: dayTo(s.Day), Others: enum[v1.Reply](s.Others, v1.Reply_value)}
	}
	if len(p.Log) > 0 {
		out.Log = &v1.TrainingLog{}
	}
	for _, s := range p.Log {
		out.Log.Sets = append(out.Log.Sets, &v1.LoggedSet{Drill: s.Drill, Day: dayTo(s.Day), Side: enum[v1.Side](string(s.Side), v1.Side_value), Reps: int32(s.Reps),
			LoadKg: s.LoadKg, HoldSeconds: int32(s.HoldSeconds), Effort: s.Effort, Pain: s.Pain, NextDay: s.NextDay})
	}
	return out
}

func healthTo(p *client.Profile, out *v1.Profile) {
	if p.ConditionsTold {
		out.Conditions = &v1.Conditions{}
	}
	for _, c := range p.Conditions {
		out.Conditions.Known = append(out.Conditions.Known, &v1.Condition{Id: c.ID, Side: enum[v1.Side](string(c.Side), v1.Side_value), Since: dayTo(c.Since),
			ToldBy: enum[v1.ToldBy](c.ToldBy, v1.ToldBy_value), Status: enum[v1.Status](c.Status, v1.Status_value), Detail: c.Detail})
	}
	if p.SurgeriesTold {
		out.Surgeries = &v1.Surgeries{}
	}
	for _, s := range p.Surgeries {
		out.Surgeries.Known = append(out.Surgeries.Known, &v1.Surgery{Id: s.ID, Region: s.Region, Side: enum[v1.Side](string(s.Side), v1.Side_value), Date: dayTo(s.Day)})
	}
	if p.MedicinesTold {
		out.Medicines = &v1.Medicines{}
	}
	for _, m := range p.Medicines {
		out.Medicines.Known = append(out.Medicines.Known, &v1.Medicine{Class: m.Class, Since: dayTo(m.Since)})
	}
	for _, c := range p.Clearances {
		k := &v1.Clearance{By: enum[v1.ToldBy](c.By, v1.ToldBy_value), Region: c.Region, Side: enum[v1.Side](string(c.Side), v1.Side_value), Given: dayTo(c.Given),
			Until: dayTo(c.Until), LoadKg: c.LoadKg, NoOverhead: c.NoOverhead, Covers: c.Covers, Surgery: c.Surgery, RangeDeg: map[string]float64{}}
		for _, l := range c.RangeDeg {
			k.RangeDeg[l.Motion] = l.ToDeg
		}
		out.Clearances = append(out.Clearances, k)
	}
	if x := p.Pregnancy; x != nil {
		out.Pregnancy = &v1.Pregnancy{Weeks: narrow(x.Weeks), PostnatalWeeks: narrow(x.PostnatalWeeks), Section: x.Section, Agreed: x.Agreed}
	}
	if x := p.BloodPressure; x != nil {
		out.BloodPressure = &v1.BloodPressure{Systolic: int32(x.Systolic), Diastolic: int32(x.Diastolic), Date: dayTo(x.Day)}
	}
}

func measuresTo(list []client.Measure) map[string]*v1.SidedMeasure {
	out := map[string]*v1.SidedMeasure{}
	for _, m := range list {
		e := entryOf(out, m.Of)
		put(m.Side, &e.Left, &e.Right, &e.Midline, &v1.Measure{Value: &m.Value, Date: dayTo(m.Day), By: enum[v1.MeasuredBy](m.By, v1.MeasuredBy_value), Position: m.Position})
	}
	return out
}

func entryOf[T any](m map[string]*T, key string) *T {
	if m[key] == nil {
		m[key] = new(T)
	}
	return m[key]
}

func put[T any](s client.Side, left, right, midline **T, x *T) {
	switch s {
	case client.SideLeft:
		*left = x
	case client.SideRight:
		*right = x
	default:
		*midline = x
	}
}

func enum[E ~int32](word string, values map[string]int32) E { return E(values[word]) }

func dayTo(d client.Day) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

func narrow(v *int) *int32 {
	if v == nil {
		return nil
	}
	n := int32(*v)
	return &n
}
