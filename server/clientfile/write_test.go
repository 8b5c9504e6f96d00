package clientfile_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestHowAClientIsWritten(t *testing.T) {
	const text = `ref: m-0412
age_years: 44
training: NOVICE
kit: {has: [dumbbell, bench]}
conditions: {}
range_deg:
  shoulder.flexion: {left: {value: 135, date: 2026-11-20, by: SAME_MEASURER}, right: {value: 168.5, date: 2026-11-20}}
rung:
  shoulder: {left: {at: isometric, since: 2026-10-26}}
painkiller_today: false
complaints:
  - {region: shoulder, side: LEFT, intensity: 6, moment: BOTTOM, days: 20}
as_of: 2026-11-24
`
	c, err := read(text)
	require.NoError(t, err)
	require.Equal(t, text, c.Text())
}
