package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

func TestTheClockIsToldOnceItIsSet(t *testing.T) {
	refused := errors.New("operation not permitted")
	for _, tt := range []struct {
		name  string
		after time.Duration // of waiting the kernel says that it is set
		err   error         // of asking it
		stop  time.Duration // after which nobody waits any more
		took  time.Duration
		fault string
	}{
		{"a clock that is set is told at once", 0, nil, time.Hour, 0, ""},
		{"one that is set later is told within seconds", time.Minute + time.Second, nil, time.Hour, time.Minute + askEvery, ""},
		{"one that is never set is not told", 48 * time.Hour, nil, time.Hour, time.Hour, "stopped before the clock was set"},
		{"where the kernel may not be asked nothing is told", 0, refused, time.Hour, 0, "operation not permitted"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "set")
			synctest.Test(t, func(t *testing.T) {
				ctx, stop := context.WithTimeout(t.Context(), tt.stop)
				defer stop()
				began := time.Now()
				err := tellClock(ctx, file, func() (bool, error) { return time.Since(began) >= tt.after, tt.err })
				if took := time.Since(began); took != tt.took {
					t.Errorf("it took %v, want %v", took, tt.took)
				}
				if tt.fault == "" && err != nil || tt.fault != "" && (err == nil || !strings.Contains(err.Error(), tt.fault)) {
					t.Errorf("it says %v, want %q", err, tt.fault)
				}
			})
			if _, err := os.Stat(file); (err == nil) != (tt.fault == "") {
				t.Errorf("the file: %v", err)
			}
		})
	}
}

func TestWhetherTheClockIsSetIsAnAnswer(t *testing.T) {
	var said strings.Builder
	now := time.Date(2026, time.November, 25, 17, 40, 0, 0, time.UTC)
	if err := sayClock(&said, true, now); err != nil || said.String() != "a time service has set the clock: it is 2026-11-25 17:40:00 UTC\n" {
		t.Errorf("it says %q, %v", &said, err)
	}
	said.Reset()
	if err := sayClock(&said, false, now); !errors.As(err, new(answerNo)) || !strings.Contains(err.Error(), "hand --believe-clock") || said.Len() > 0 {
		t.Errorf("it says %q, %v; want that the answer is no, and what to do", &said, err)
	}
}
