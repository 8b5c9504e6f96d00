package server

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
)

// A reader that was used before reads as a new one does, and keeps nothing of whom it has read.
func TestReaderUsedAgain(t *testing.T) {
	e, err := rules.Embedded()
	require.NoError(t, err)
	full, example := fileAsked{fullProfile(t, e)}, fileAsked{sample(t)}
	used := &reader{}
	for i, m := range []fileAsked{full, full, example, example, full} {
		fresh := &reader{}
		fresh.convert(m)
		if i%2 == 0 {
			used.convert(m)
		} else {
			sent, err := proto.Marshal(&v1.ScreenRequest{Profile: m.GetProfile(), Complaints: m.GetComplaints(), AsOf: m.GetAsOf()})
			require.NoError(t, err)
			require.True(t, used.fromWire(&v1.ScreenRequest{}, string(sent)))
		}
		require.Empty(t, used.list)
		require.Equal(t, fresh.request.Digest(), used.request.Digest())
		used.empty()
		for _, of := range []any{used.entries, used.room} {
			holdNothing(t, reflect.ValueOf(of))
		}
		holdsNothing(t, reflect.ValueOf(used.wholes))
		for p, i := reflect.ValueOf(used.profile), 0; i < p.NumField(); i++ {
			if p.Field(i).Kind() == reflect.Slice {
				holdsNothing(t, p.Field(i))
			} else {
				require.Zero(t, p.Field(i).Interface(), "%s", p.Type().Field(i).Name)
			}
		}
	}
}

// holdNothing looks at all lists in a struct, and in structs of it.
func holdNothing(t *testing.T, of reflect.Value) {
	for i := range of.NumField() {
		if of.Field(i).Kind() == reflect.Struct {
			holdNothing(t, of.Field(i))
		} else {
			holdsNothing(t, of.Field(i))
		}
	}
}

func holdsNothing(t *testing.T, list reflect.Value) {
	require.Zero(t, list.Len())
	for i := range list.Cap() {
		require.True(t, list.Slice(0, list.Cap()).Index(i).IsZero())
	}
}
