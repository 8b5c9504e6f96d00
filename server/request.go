package server

import (
	"errors"
	"fmt"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules/client"
)

// asking is any request about a client on a day.
type asking interface {
	GetProfile() *v1.Profile
	GetComplaints() []*v1.Complaint
	GetAsOf() string
}

// requestFrom converts a request that the contract's limits have let through. The error is *client.Invalid, when
// a day isn't in the calendar; it then holds whatever else is wrong as well.
func requestFrom(frame *client.Frame, m asking) (*client.Request, error) {
	q, list := convertRequest(m)
	if len(list) > 0 {
		return nil, client.NewInvalid(joined(list, check(frame, q)))
	}
	return q, nil
}

// violationsOf is everything that is wrong with a request beside the contract's limits.
func violationsOf(frame *client.Frame, m asking) []client.Violation {
	q, list := convertRequest(m)
	return joined(list, check(frame, q))
}

func check(frame *client.Frame, q *client.Request) []client.Violation {
	var invalid *client.Invalid
	if errors.As(client.Check(frame, q), &invalid) {
		return invalid.Violations
	}
	return nil
}

// convertRequest takes what the request has: not every question names a lift, minutes, or what is taken.
func convertRequest(m asking) (*client.Request, []client.Violation) {
	r := &dayReader{}
	q := &client.Request{AsOf: r.day(m.GetAsOf(), "as_of")}
	if p := m.GetProfile(); p != nil {
		q.Profile = r.profile(p)
	}
	for _, c := range m.GetComplaints() {
		q.Complaints = append(q.Complaints, complaintFrom(c))
	}
	if lift, ok := m.(interface{ GetLift() string }); ok {
		q.Lift = lift.GetLift()
	}
	if minutes, ok := m.(interface{ GetMinutes() int32 }); ok {
		q.Minutes = int(minutes.GetMinutes())
	}
	if taken, ok := m.(interface {
		GetKitTaken() []string
		GetStationsTaken() []string
	}); ok {
		q.KitTaken, q.StationsTaken = taken.GetKitTaken(), taken.GetStationsTaken()
	}
	return q, r.list
}

// dayReader reads days and notes those that aren't in the calendar.
type dayReader struct {
	list []client.Violation
	last struct {
		text string
		day  client.Day
	}
}

// same is the day that was read last, when the text is the same: most measures of a profile are of one day.
func (r *dayReader) same(text string) (client.Day, bool) {
	return r.last.day, text != "" && text == r.last.text
}

// day reads one; path and its arguments name the field.
func (r *dayReader) day(text, path string, args ...any) client.Day {
	if text == "" {
		return 0
	}
	d, err := client.ParseDay(text)
	if err == nil {
		r.last.text, r.last.day = text, d
	} else {
		r.list = append(r.list, client.Violation{Field: fmt.Sprintf(path, args...), Message: fmt.Sprintf("%q is not a day", text), Suggestion: "write YYYY-MM-DD"})
	}
	return d
}
