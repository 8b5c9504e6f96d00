package server

import "drillwright/rules/client"

// entryOf is the entry of a map, made where it isn't there.
func entryOf[T any](m *map[string]*T, key string) *T {
	if (*m)[key] == nil {
		set(m, key, new(T))
	}
	return (*m)[key]
}

func set[V any](m *map[string]V, key string, v V) {
	if *m == nil {
		*m = map[string]V{}
	}
	(*m)[key] = v
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
