package server

import (
	"drillwright/rules/client"
	"drillwright/server/clientfile"
)

// WriteClient writes a client as clientfile.Read reads one. What a request says beside the client (the lift, what is taken,
// the minutes) has no place in it.
func WriteClient(q *client.Request) string {
	c := &clientfile.File{Profile: profileTo(q.Profile), AsOf: dayTo(q.AsOf)}
	for i := range q.Complaints {
		c.Complaints = append(c.Complaints, complaintTo(&q.Complaints[i]))
	}
	return c.Text()
}
