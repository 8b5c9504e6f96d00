package client_test

import (
	"fmt"
	"math"
	"reflect"
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

// TestDigestTellsEverythingApart: no two changes of one value give the same digest, so no field is left out. The texts
// are all the same, and then all different, since a text that repeats itself is written in another way.
func TestDigestTellsEverythingApart(t *testing.T) {
	n := 0
	for name, text := range map[string]func() string{
		"same texts":      func() string { return "LEFT" },
		"different texts": func() string { n++; return fmt.Sprint("text ", n) },
	} {
		q := &client.Request{}
		fill(reflect.ValueOf(q).Elem(), text)
		seen := map[string]string{q.Digest(): "unchanged"}
		eachChange("request", reflect.ValueOf(q).Elem(), func(path string) {
			digest := q.Digest()
			if same, ok := seen[digest]; ok {
				t.Errorf("%s: %s and %s have the same digest", name, path, same)
			}
			seen[digest] = path
		})
		require.Greater(t, len(seen), 300)
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
