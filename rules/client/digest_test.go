package client_test

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"drillwright/rules/client"
)

// fill puts something into every field; text makes the texts.
func fill(v reflect.Value, text func() string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(text())
	case reflect.Int:
		v.SetInt(3)
	case reflect.Float64:
		v.SetFloat(2.5)
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), text)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(v.Index(i), text)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), text)
		}
	case reflect.Chan: // who waits is no part of what is asked
	default:
		panic("no way to fill " + v.Type().String())
	}
}

// eachChange makes every change of a single value in turn, and takes it back.
func eachChange(path string, v reflect.Value, changed func(path string)) {
	try := func(how string, to any) {
		was := reflect.New(v.Type()).Elem()
		was.Set(v)
		v.Set(reflect.ValueOf(to).Convert(v.Type()))
		changed(path + how)
		v.Set(was)
	}
	switch v.Kind() {
	case reflect.String:
		try(" longer", v.String()+"x")
		try(" empty", "")
	case reflect.Int:
		try(" + 1", v.Int()+1)
		try(" 0", 0)
	case reflect.Float64:
		try(" + 1", v.Float()+1)
		try(" 0", 0.0)
	case reflect.Bool:
		try(" turned", !v.Bool())
	case reflect.Pointer:
		try(" absent", reflect.Zero(v.Type()).Interface())
		eachChange(path, v.Elem(), changed)
	case reflect.Slice:
		try(" shorter", v.Slice(0, v.Len()-1).Interface())
		for i := range v.Len() {
			eachChange(fmt.Sprintf("%s[%d]", path, i), v.Index(i), changed)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			eachChange(path+"."+v.Type().Field(i).Name, v.Field(i), changed)
		}
	}
}

// readOf is all of a request that is read, in its canonical form.
func readOf(t *testing.T, q *client.Request) string {
	q = q.Canonical()
	p := q.Profile
	if p != nil {
		read := *p
		read.Ref, read.Conditions = "", slices.Clone(p.Conditions)
		for i := range read.Conditions {
			read.Conditions[i].Detail = ""
		}
		p = &read
	}
	text, err := json.Marshal([]any{q.AsOf, p, q.Complaints, q.Lift, q.KitTaken, q.StationsTaken, q.Minutes})
	require.NoError(t, err)
	return string(text)
}

// TestDigestTellsEverythingApart: two changes of one value give the same digest just where what is read is the same, so no field is left
// out but those that nothing reads. The texts are all the same, and then all different, since a text that repeats itself is written in
// another way.
func TestDigestTellsEverythingApart(t *testing.T) {
	n := 0
	for name, text := range map[string]func() string{
		"same texts":      func() string { return "LEFT" },
		"different texts": func() string { n++; return fmt.Sprint("text ", n) },
	} {
		q := &client.Request{}
		fill(reflect.ValueOf(q).Elem(), text)
		seen, digests := map[string]string{q.Digest(): readOf(t, q)}, map[string]string{readOf(t, q): q.Digest()}
		eachChange("request", reflect.ValueOf(q).Elem(), func(path string) {
			digest, read := q.Digest(), readOf(t, q)
			if same, ok := seen[digest]; ok && same != read {
				t.Errorf("%s: %s has the digest of something else", name, path)
			}
			if same, ok := digests[read]; ok && same != digest {
				t.Errorf("%s: %s changes the digest and nothing that is read", name, path)
			}
			seen[digest], digests[read] = read, digest
		})
		require.Greater(t, len(seen), 200)
	}
}

func TestDigestOfTheSameRequest(t *testing.T) {
	fr := edition().Frame
	q := full(fr)
	require.Equal(t, full(fr).Digest(), q.Digest())
	require.Len(t, q.Digest(), 32)
	q.Profile.StrengthN[0].Value = 0
	zero := q.Digest()
	q.Profile.StrengthN[0].Value = math.Copysign(0, -1)
	require.Equal(t, zero, q.Digest(), "minus nothing is nothing")
	require.NotEqual(t, (&client.Request{}).Digest(), (&client.Request{Profile: &client.Profile{}}).Digest())
}
