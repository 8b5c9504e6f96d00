package server

import (
	"runtime"
	"runtime/debug"
	runtimemetrics "runtime/metrics"
)

// How far a process that serves lets its heap grow before it is collected. An edition is tens of megabytes of pointers, and a call leaves
// a tenth of one behind: a collection each few hundred calls costs them little, whatever lives. In percent of what lives the growth would
// be the greater the more editions are kept, which no call gains by.
const (
	heapHeadroom = 96 << 20
	// HeapGrowth is the growth of a process with one small edition, in percent: the most that there is.
	HeapGrowth = 400
	// leastGrowth keeps collections apart where editions are large.
	leastGrowth = 50
)

// TendHeap sets the growth by what lives now. It is for a process that does nothing but serve; see Config.Adopted.
func TendHeap() {
	runtime.GC()
	live := []runtimemetrics.Sample{{Name: "/gc/heap/live:bytes"}}
	runtimemetrics.Read(live)
	debug.SetGCPercent(growth(live[0].Value.Uint64()))
}

func growth(live uint64) int {
	return int(min(HeapGrowth, max(leastGrowth, 100*heapHeadroom/max(live, 1))))
}
