package client

import (
	"crypto/sha256"
	"encoding/hex"
	"hash"
	"sync"
)

// Digest is SHA-256 over our own canonical form of what was asked, its first half in hex: the question, which is
// whatever of it the request doesn't hold, and the request. Lists count in their order; a nil list is an empty one.
func (q *Request) Digest(question ...string) string {
	c := canonicals.Get().(*canonical)
	c.asOf = q.AsOf
	c.sum.Write(c.request(appendTexts(c.room[:0], question), q))
	text := hex.EncodeToString(c.sum.Sum(c.room[:0])[:16])
	c.sum.Reset()
	clear(c.room[:])
	canonicals.Put(c)
	return text
}

var canonicals = sync.Pool{New: func() any { return &canonical{sum: sha256.New()} }}

// canonical writes every field in the order in which its type declares it, but for the question and the day of the
// request, which come first. Nothing names a field, so each value tells where it ends: texts and lists begin with their length, and
// what may be absent with 0 or 1.
type canonical struct {
	asOf Day
	sum  hash.Hash
	room [1 << 10]byte // for what isn't summed up yet
}

// passed hands on what was written, before it outgrows its room.
func (c *canonical) passed(b []byte) []byte {
	if len(b) < 768 {
		return b
	}
	c.sum.Write(b)
	return b[:0]
}

// day counts back from the day of the request: that is short.
func (c *canonical) day(b []byte, d Day) []byte { return appendInt(b, int(c.asOf-d)) }

func (c *canonical) request(b []byte, q *Request) []byte {
	b = appendInt(b, int(q.AsOf))
	if b = appendBool(b, q.Profile != nil); q.Profile != nil {
		b = c.profile(b, q.Profile)
	}
	b = appendLen(b, len(q.Complaints))
	for i := range q.Complaints {
		k := &q.Complaints[i]
		b = appendText(b, k.Region)
		b = appendSide(b, k.Side)
		b = appendNumber(b, k.Intensity)
		b = appendText(b, k.Moment)
		b = appendText(b, k.Kind)
		b = appendText(b, k.Onset)
		b = appendInt(b, k.Days)
		b = c.day(b, k.LookedAt)
	}
	b = appendText(b, q.Lift)
	b = appendTexts(b, q.KitTaken)
	b = appendTexts(b, q.StationsTaken)
	b = appendInt(b, q.Minutes)
	return b
}

func (c *canonical) profile(b []byte, p *Profile) []byte {
	b = appendText(b, p.Ref)
	b = appendMaybeInt(b, p.AgeYears)
	b = appendText(b, p.Sex)
	b = appendText(b, p.Training)
	b = appendMaybeNumber(b, p.BodyMassKg)
	b = appendSide(b, p.DominantSide)
	b = appendTexts(b, p.Kit)
	b = appendBool(b, p.KitTold)
	b = c.conditions(b, p)
	b = c.clearances(b, p)
	b = c.measures(b, p.RangeDeg)
	b = c.measures(b, p.PassiveDeg)
	b = c.measures(b, p.StrengthN)
	b = c.measures(b, p.HoldSeconds)
	b = c.painfulArcs(b, p.PainfulArcs)
	b = c.best(b, p.Best)
	b = c.pain(b, p.Pain)
	b = c.rungs(b, p.Rungs)
	b = c.screening(b, p)
	b = c.treated(b, p)
	b = appendMaybeInt(b, p.Beighton)
	b = appendMaybeBool(b, p.PainkillerToday)
	b = appendMaybeBool(b, p.Supervised)
	b = appendMaybeBool(b, p.GuardianPresent)
	b = appendMaybeInt(b, p.Confidence)
	b = appendMaybeInt(b, p.ProgrammeWeek)
	b = appendTexts(b, p.Disliked)
	b = appendTexts(b, p.GoalLifts)
	b = c.log(b, p.Log)
	return b
}
