package file

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"loambank/drivers/device"
)

func holds(t *testing.T, path, want string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil || string(b) != want {
		t.Errorf("%s holds %q, %v; want %q", filepath.Base(path), b, err, want)
	}
}

func TestStages(t *testing.T) {
	three := []float64{0.4, 0.7, 1}
	tests := []struct {
		name   string
		path   string
		beside map[string]string // files in the same directory, before
		o      FanOptions
		want   []string          // what each stage writes, off first
		after  map[string]string // and files afterwards
	}{
		{"a plain file takes 0 and 1", "fan", nil, FanOptions{Create: true}, []string{"0", "1"}, nil},
		{"a plain file that is there already", "fan", map[string]string{"fan": "1\n"}, FanOptions{}, []string{"0", "1"}, nil},
		{"a longer number leaves nothing behind", "fan", map[string]string{"fan": "255\n"}, FanOptions{}, []string{"0", "1"}, nil},
		{"an active-low plain file", "fan", nil, FanOptions{Create: true, ActiveLow: true}, []string{"1", "0"}, nil},
		{
			"an LED output with its own largest value, taken from its trigger", "brightness",
			map[string]string{"brightness": "0\n", "max_brightness": "255\n", "trigger": "heartbeat"},
			FanOptions{},
			[]string{"0", "255"},
			map[string]string{"trigger": "none"},
		},
		{"an LED output without a largest value", "brightness", map[string]string{"brightness": "0"}, FanOptions{}, []string{"0", "1"}, nil},
		{
			"a hwmon pwm in levels, set to be driven by hand", "pwm1",
			map[string]string{"pwm1": "128\n", "pwm1_enable": "2"},
			FanOptions{Levels: three},
			[]string{"0", "102", "179", "255"},
			map[string]string{"pwm1_enable": "1"},
		},
		{
			"an active-low hwmon pwm", "pwm1",
			map[string]string{"pwm1": "128\n"},
			FanOptions{Levels: three, ActiveLow: true},
			[]string{"255", "153", "76", "0"},
			nil,
		},
		{
			"a duty cycle in shares of its period, let go once it is off", "duty_cycle",
			map[string]string{"duty_cycle": "40000\n", "period": "40000\n", "enable": "0"},
			FanOptions{Levels: []float64{0.5, 1}},
			[]string{"0", "20000", "40000"},
			map[string]string{"enable": "1"},
		},
		{"a stated format over the name", "out", nil, FanOptions{Create: true, Format: "pwm"}, []string{"0", "255"}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range tt.beside {
				write(t, filepath.Join(dir, name), text)
			}
			tt.o.Name, tt.o.Path = "lower/beds/east", filepath.Join(dir, tt.path)
			f, err := NewFan(t.Context(), tt.o)
			if err != nil {
				t.Fatal(err)
			}
			holds(t, tt.o.Path, tt.want[0])
			for name, text := range tt.after {
				holds(t, filepath.Join(dir, name), text)
			}
			for i := len(tt.want) - 1; i >= 0; i-- {
				if err := f.Set(t.Context(), device.Stage(i)); err != nil {
					t.Fatal(err)
				}
				holds(t, tt.o.Path, tt.want[i])
			}
			if err := f.Set(t.Context(), device.Stage(len(tt.want))); err == nil {
				t.Error("a stage beyond the last was taken")
			}
			holds(t, tt.o.Path, tt.want[0])
			if err := f.Set(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
			if err := f.Close(); err != nil {
				t.Fatal(err)
			}
			holds(t, tt.o.Path, tt.want[0])
			if err := f.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) || f.Close() != nil {
				t.Errorf("after Close: %v; want it closed, and closing twice to be fine", err)
			}
			holds(t, tt.o.Path, tt.want[0])
		})
	}
}

func TestNewFanRefuses(t *testing.T) {
	tests := []struct {
		name   string
		path   string
		beside map[string]string
		o      FanOptions
		fault  error
		says   string
	}{
		{"no file where none may be made", "fan", nil, FanOptions{}, device.ErrAbsent, "the device is not there: no such file or directory"},
		{
			"a file that is no fan's", "notes",
			map[string]string{"notes": "zone = \"UTC\"\n"},
			FanOptions{Create: true},
			device.ErrFormat,
			`it holds "zone = \"UTC\"\n"; a fan file holds a whole number: not in the expected form`,
		},
		{"a directory", ".", nil, FanOptions{Create: true}, nil, "is a directory"},
		{"an unknown format", "fan", nil, FanOptions{Create: true, Format: "dac"}, nil, `unknown format "dac"; it is one of plain, led, pwm`},
		{"levels that do not rise", "pwm1", nil, FanOptions{Create: true, Levels: []float64{0.5, 0.5, 1}}, nil, "levels [0.5 0.5 1] must rise from above 0 to 1"},
		{"a level of 0", "pwm1", nil, FanOptions{Create: true, Levels: []float64{0, 1}}, nil, "levels [0 1] must rise from above 0 to 1"},
		{"a level over 1", "pwm1", nil, FanOptions{Create: true, Levels: []float64{0.5, 1.5}}, nil, "levels [0.5 1.5] must rise from above 0 to 1"},
		{"levels that end short of 1", "pwm1", nil, FanOptions{Create: true, Levels: []float64{0.5}}, nil, "levels [0.5] must end in 1 and be 255 at most"},
		{
			"levels in a file that is on or off", "fan", nil,
			FanOptions{Create: true, Levels: []float64{0.5, 1}},
			nil,
			"levels [0.5 1] cannot be told apart in a file that takes 0 to 1; use fewer levels or a pwm file",
		},
		{"a duty cycle without a period", "duty_cycle", map[string]string{"duty_cycle": "0"}, FanOptions{}, device.ErrAbsent, ""},
		{"a period that is not set", "duty_cycle", map[string]string{"duty_cycle": "0", "period": "0\n"}, FanOptions{}, device.ErrFormat, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range tt.beside {
				write(t, filepath.Join(dir, name), text)
			}
			tt.o.Name, tt.o.Path = "lower/beds/east", filepath.Join(dir, tt.path)
			f, err := NewFan(t.Context(), tt.o)
			if err == nil || tt.fault != nil && !errors.Is(err, tt.fault) {
				t.Fatalf("got %v, %v; want fault %v", f, err, tt.fault)
			}
			if want := "fan lower/beds/east at " + tt.o.Path + ": " + tt.says; tt.says != "" && err.Error() != want {
				t.Errorf("got  %v\nwant %s", err, want)
			}
			for name, text := range tt.beside {
				holds(t, filepath.Join(dir, name), text)
			}
		})
	}
	if _, err := NewFan(t.Context(), FanOptions{Name: "x"}); err == nil {
		t.Error("a fan without a path was opened")
	}
}

func TestAFanThatDoesNotTakeItsNumberIsAFault(t *testing.T) {
	f := &Fan{o: FanOptions{Name: "east", Path: "/dev/null"}, texts: []string{"0", "1"}, flag: os.O_WRONLY, slot: make(slot, 1)}
	if err := f.Set(t.Context(), 1); err == nil || !strings.Contains(err.Error(), "a fan needs a regular or sysfs file") {
		t.Errorf("a device file: %v; want it refused", err)
	}
	// Written without truncation, the file keeps what was there behind the number.
	f.o.Path = filepath.Join(t.TempDir(), "fan")
	write(t, f.o.Path, "07")
	if err := f.Set(t.Context(), 1); err == nil || !strings.Contains(err.Error(), `it holds "17" after 1 was written`) {
		t.Errorf("a file that keeps more: %v; want the difference named", err)
	}
}

func TestAFanUnpluggedAndBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pwm1")
	write(t, path, "0")
	f, err := NewFan(t.Context(), FanOptions{Name: "east", Path: path})
	if err != nil {
		t.Fatal(err)
	}
	os.Remove(path)
	if err := f.Set(t.Context(), 1); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("while away: %v; want ErrAbsent", err)
	}
	write(t, path, "0")
	if err := f.Set(t.Context(), 1); err != nil {
		t.Error(err)
	}
	holds(t, path, "255")
	os.Remove(path)
	if err := f.Close(); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("closing while away: %v; want ErrAbsent, since the fan was not put off", err)
	}
}

func TestSetWhileOneHangsAndCloseAfterIt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fan")
	synctest.Test(t, func(t *testing.T) {
		f, err := NewFan(t.Context(), FanOptions{Name: "east", Path: path, Create: true})
		if err != nil {
			t.Fatal(err)
		}
		hang := make(chan struct{})
		began := time.Now()
		err = f.slot.do(context.Background(), false, func(context.Context) error {
			<-hang
			return f.write(context.Background(), "1")
		})
		if took := time.Since(began); !errors.Is(err, context.DeadlineExceeded) || took != 5*time.Second {
			t.Errorf("a call without a deadline that hangs: %v after %v; want it given up after 5 s", err, took)
		}
		if err := f.Set(t.Context(), 0); !errors.Is(err, device.ErrBusy) {
			t.Errorf("a Set while one hangs: %v; want ErrBusy", err)
		}
		closed := make(chan error, 1)
		go func() { closed <- f.Close() }()
		synctest.Wait()
		if len(closed) > 0 {
			t.Errorf("Close did not wait for the call that hangs: %v", <-closed)
		}
		close(hang)
		if err := <-closed; err != nil {
			t.Errorf("Close: %v", err)
		}
	})
	holds(t, path, "0")
}

func TestCloseDoesNotWaitForEver(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fan")
	synctest.Test(t, func(t *testing.T) {
		f, err := NewFan(t.Context(), FanOptions{Name: "east", Path: path, Create: true})
		if err != nil {
			t.Fatal(err)
		}
		f.slot <- struct{}{} // a call that never comes back
		if err := f.Close(); !errors.Is(err, device.ErrBusy) {
			t.Errorf("Close: %v; want ErrBusy, since the fan was not put off", err)
		}
	})
}
