package client

import (
	"cmp"
	"slices"
)

// Canonical is the one of all requests that ask the same which is answered and digested: each list whose order means nothing is sorted,
// and holds nothing twice but the sets of a log (order: in the table). Complaints are ordered by strength, so an answer begins with the
// strongest. Lists that a contract has as maps come sorted from whoever reads them. A request that is in order already is returned itself.
func (q *Request) Canonical() *Request {
	if q.inOrder() {
		return q
	}
	in := *q
	in.order()
	return &in
}

func isSorted[T any](list []T, compare func(a, b *T) int) bool { return goesUp(list, compare, 0) }

func isSet[T any](list []T, compare func(a, b *T) int) bool { return goesUp(list, compare, -1) }

// goesUp is whether each two neighbours compare as at most that.
func goesUp[T any](list []T, compare func(a, b *T) int, most int) bool {
	for i := 1; i < len(list); i++ {
		if compare(&list[i-1], &list[i]) > most {
			return false
		}
	}
	return true
}

// sorted is a list in order: itself, or a copy.
func sorted[T any](list []T, compare func(a, b *T) int) []T {
	if isSorted(list, compare) {
		return list
	}
	return gathered(itemsInOrder(list, compare))
}

// set is a list in order with each item once: itself, or a copy.
func set[T any](list []T, compare func(a, b *T) int) []T {
	if isSet(list, compare) {
		return list
	}
	return gathered(slices.CompactFunc(itemsInOrder(list, compare), func(a, b *T) bool { return compare(a, b) == 0 }))
}

// itemsInOrder are the items of a list in order.
func itemsInOrder[T any](list []T, compare func(a, b *T) int) []*T {
	items := make([]*T, len(list))
	for i := range list {
		items[i] = &list[i]
	}
	slices.SortFunc(items, compare)
	return items
}

func gathered[T any](items []*T) []T {
	list := make([]T, len(items))
	for i, item := range items {
		list[i] = *item
	}
	return list
}

func compareText(a, b *string) int { return cmp.Compare(*a, *b) }

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// compareMaybe puts what is absent first.
func compareMaybe(a, b *float64) int {
	if a == nil || b == nil {
		return compareBool(a != nil, b != nil)
	}
	return cmp.Compare(*a, *b)
}

func compareLists[T any](a, b []T, compare func(a, b *T) int) int {
	for i := range min(len(a), len(b)) {
		if c := compare(&a[i], &b[i]); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(a), len(b))
}
