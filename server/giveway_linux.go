package server

import (
	"errors"
	"os"
	"strconv"

	"golang.org/x/sys/unix"
)

// giveWay lets this process run where nothing else wants to. Linux keeps that for each thread: new ones have it from the one that starts
// them, so what matters is that all that there are have it.
func giveWay() error {
	for idle := map[string]bool{}; ; {
		threads, err := os.ReadDir("/proc/self/task")
		if err != nil {
			return err
		}
		before := len(idle)
		for _, thread := range threads {
			if idle[thread.Name()] {
				continue
			}
			id, err := strconv.Atoi(thread.Name())
			if err != nil {
				return err
			}
			err = unix.SchedSetAttr(id, &unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_IDLE}, 0)
			if err != nil && !errors.Is(err, unix.ESRCH) { // that thread has ended
				return err
			}
			idle[thread.Name()] = true
		}
		if len(idle) == before {
			return nil
		}
	}
}
