package main

import (
	"fmt"
	"regexp"
	"strconv"
	"time"
)

// number is a whole number of a flag, from its least up.
type number struct {
	value *int
	least int
}

func (n number) String() string { return strconv.Itoa(*n.value) }
func (n number) Type() string   { return "number" }

// Set implements pflag.Value.
func (n number) Set(s string) error {
	v, err := strconv.ParseInt(s, 10, 32)
	if err != nil || int(v) < n.least {
		return fmt.Errorf("it must be %d or more", n.least)
	}
	*n.value = int(v)
	return nil
}

// span is a length of time of a flag, from its least up.
type span struct {
	value *time.Duration
	least time.Duration
}

func (d span) String() string { return d.value.String() }
func (d span) Type() string   { return "time" }

// Set implements pflag.Value.
func (d span) Set(s string) error {
	v, err := time.ParseDuration(s)
	if err != nil || v < d.least {
		return fmt.Errorf("it must be a time of %v or more, such as 90s or 10m", d.least)
	}
	*d.value = v
	return nil
}

// byteCount is a number of bytes of a flag, from its least up; KiB and MiB are known.
type byteCount struct {
	value *int
	least int
}

var (
	units   = map[string]int{"": 1, "KiB": 1 << 10, "MiB": 1 << 20}
	written = regexp.MustCompile(`^([0-9]{1,9})(KiB|MiB|)$`)
)

func (b byteCount) String() string {
	for _, unit := range []string{"MiB", "KiB"} {
		if *b.value%units[unit] == 0 {
			return strconv.Itoa(*b.value/units[unit]) + unit
		}
	}
	return strconv.Itoa(*b.value)
}

func (b byteCount) Type() string { return "size" }

// Set implements pflag.Value.
func (b byteCount) Set(s string) error {
	parts, v := written.FindStringSubmatch(s), 0
	if parts != nil {
		v, _ = strconv.Atoi(parts[1])
		v *= units[parts[2]]
	}
	if least := (byteCount{&b.least, 0}); parts == nil || v < b.least || v > 1<<30 {
		return fmt.Errorf("it must be from %s to 1024MiB, such as 4MiB or 512KiB", least)
	}
	*b.value = v
	return nil
}
