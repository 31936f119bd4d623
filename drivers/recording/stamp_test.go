package recording

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestStampAgreesWithStandardLibrary(t *testing.T) {
	layouts := []string{
		"2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04",
		"2006-01-02T15:04:05.999999999", "2006-01-02T15:04:05.000", "2006-01-02T15:04:05Z07:00",
		"2006-01-02 15:04:05.999999Z07:00", "2006-01-02T15:04Z07:00",
	}
	rapid.Check(t, func(t *rapid.T) {
		offset := rapid.IntRange(-23*60-59, 23*60+59).Draw(t, "offset") * 60
		sec := rapid.Int64Range(-62167219200+86400, 253402300799-86400).Draw(t, "unix") // years 0 to 9999
		at := time.Unix(sec, rapid.Int64Range(0, 999999999).Draw(t, "nano")).In(time.FixedZone("", offset))
		layout := rapid.SampledFrom(layouts).Draw(t, "layout")
		text := at.Format(layout)
		want, err := time.Parse(layout, text)
		if err != nil {
			t.Skip(err)
		}
		s, ok := parseStamp(text)
		if got := time.Unix(s.civil-s.offset, s.nano); !ok || !got.Equal(want) {
			t.Fatalf("%s gives %v, %v; want %v", text, got.UTC(), ok, want)
		}
	})
}

func TestStampRefusesWhatStandardLibraryRefuses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := func(most int, name string) int { return rapid.IntRange(0, most).Draw(t, name) }
		text := fmt.Sprintf("%04d-%02d-%02dT%02d:%02d:%02dZ", n(9999, "year"), n(13, "month"), n(32, "day"),
			n(25, "hour"), n(61, "minute"), n(61, "second"))
		want, err := time.Parse(time.RFC3339, text)
		s, ok := parseStamp(text)
		if ok != (err == nil) || ok && s.civil != want.Unix() {
			t.Fatalf("%s: %v, %v; the standard library says %v, %v", text, s, ok, want, err)
		}
	})
}

func TestStampForms(t *testing.T) {
	tests := []struct {
		text string
		ok   bool
	}{
		{"2026-01-31T17:05:00Z", true},
		{"2026-01-31T17:05", true},
		{"2026-01-31 17:05+01:00", true},
		{"2026-01-31T17:05:00.123456789", true},
		{"2000-02-29T00:00Z", true},
		{"2024-02-29T00:00Z", true},
		{"1900-02-29T00:00Z", false},
		{"2026-04-31T00:00Z", false},
		{"", false},
		{"2026-01-31", false},
		{"2026-01-31T17", false},
		{"2026-01-31T17:05:", false},
		{"2026-01-31T17:05:0", false},
		{"2026-01-31T17:05:00.", false},
		{"2026-01-31T17:05:00.1234567890", false},
		{"2026-01-31T17:05.5", false},
		{"2026-01-31T17:05:00+0100", false},
		{"2026-01-31T17:05:00+24:00", false},
		{"2026-01-31T17:05:00+01:60", false},
		{"2026-01-31T17:05:00 01:00", false},
		{"2026-01-31T17:05:00ZZ", false},
		{"2026-01-31T24:00:00Z", false},
		{"2026-01-31T17:05:60Z", false},
		{"-026-01-31T17:05:00Z", false},
		{"20 6-01-31T17:05:00Z", false},
		{"2026/01/31T17:05:00Z", false},
		{"2026-01-31x17:05:00Z", false},
		{"31.01.2026 17:05:00", false},
	}
	for _, tt := range tests {
		if _, ok := parseStamp(tt.text); ok != tt.ok {
			t.Errorf("%q is understood: %v; want %v", tt.text, ok, tt.ok)
		}
	}
}

func TestInstantsAreThoseTheZoneShows(t *testing.T) {
	var zones []*time.Location
	for _, name := range []string{
		"Europe/Rome", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia",
		"Africa/Casablanca", "America/Havana", "America/Santiago", "Atlantic/Azores", "Asia/Kathmandu", "UTC",
	} {
		zones = append(zones, place(t, name))
	}
	rapid.Check(t, func(t *rapid.T) {
		z := zone{loc: rapid.SampledFrom(zones).Draw(t, "zone")}
		at := rapid.Int64Range(-3e8, 4e9).Draw(t, "unix") // 1960 to 2096
		for range 20 {
			// Often near a change of the clocks, where mistakes are made.
			if _, end := time.Unix(at, 0).In(z.loc).ZoneBounds(); !end.IsZero() && rapid.Bool().Draw(t, "near") {
				at = max(end.Unix()+rapid.Int64Range(-2*86400, 2*86400).Draw(t, "beside"), -3e8)
			}
			_, off := time.Unix(at, 0).In(z.loc).Zone()
			civil := at + int64(off)
			first, second, gap := z.instants(civil)
			if gap || at != first && at != second {
				t.Fatalf("%v: instants %d and %d (gap %v); want %d among them", time.Unix(at, 0).In(z.loc), first, second, gap, at)
			}
			for _, i := range []int64{first, second} {
				if _, o := time.Unix(i, 0).In(z.loc).Zone(); i+int64(o) != civil {
					t.Fatalf("at %d the clocks do not show %d", i, civil)
				}
			}
			at = max(at+rapid.Int64Range(-40*86400, 40*86400).Draw(t, "step"), -3e8)
		}
	})
}
