package file

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"loambank/drivers/device"
)

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func probe(t testing.TB, o ProbeOptions) *Probe {
	t.Helper()
	o.Name = "lower/soil"
	p, err := NewProbe(o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// w1 is what the kernel's w1_therm driver prints.
func w1(bytes, crc, verdict, milli string) string {
	return bytes + " : crc=" + crc + " " + verdict + "\n" + bytes + " t=" + milli + "\n"
}

func TestRead(t *testing.T) {
	const (
		device16 = "w1/devices/28-0000075a1c01/"
		zeros    = "00 00 00 00 00 00 00 00 00"
	)
	tests := []struct {
		name  string
		path  string
		text  string
		o     ProbeOptions
		want  float64
		fault error
		says  string
	}{
		// The scratchpads are rows of sensors.csv; the thousandths are theirs, cut as the kernel cuts.
		{"sensors-S016: 25.875 °C by its name", device16 + "w1_slave", w1("9e 01 4b 46 7f ff 02 10 56", "56", "YES", "25875"), ProbeOptions{}, 25.875, nil, ""},
		{"sensors-S012: -10.125 °C", device16 + "w1_slave", w1("5e ff 4b 46 7f ff 0c 10 6a", "6a", "YES", "-10125"), ProbeOptions{}, -10.125, nil, ""},
		{"sensors-S010: 0 °C with a sound scratchpad", device16 + "w1_slave", w1("00 00 4b 46 7f ff 0c 10 c8", "c8", "YES", "0"), ProbeOptions{}, 0, nil, ""},
		{"sensors-S013: -55 °C, the coldest", device16 + "w1_slave", w1("90 fc 4b 46 7f ff 0c 10 4f", "4f", "YES", "-55000"), ProbeOptions{}, -55, nil, ""},
		{"sensors-S001: 125 °C, the hottest", device16 + "w1_slave", w1("d0 07 4b 46 7f ff 0c 10 f4", "f4", "YES", "125000"), ProbeOptions{}, 125, nil, ""},
		{"w1 text under another name is known by its content", "copy", w1("9e 01 4b 46 7f ff 02 10 56", "56", "YES", "25875"), ProbeOptions{}, 25.875, nil, ""},
		{"sensors-S015, S022: the power-on value", device16 + "w1_slave", w1("50 05 4b 46 7f ff 0c 10 1c", "1c", "YES", "85000"), ProbeOptions{}, 0, device.ErrPowerOn, "it reads 85.000 °C: power-on value, nothing was measured"},
		{"sensors-S017: all zeros, whose checksum is right", device16 + "w1_slave", w1(zeros, "00", "YES", "0"), ProbeOptions{}, 0, device.ErrFormat, "all bytes are zero, as on a shorted line: not in the expected form"},
		{"a checksum that does not match", device16 + "w1_slave", w1("9e 01 4b 46 7f ff 02 10 57", "56", "NO", "25875"), ProbeOptions{}, 0, device.ErrCRC, `it holds "9e 01 4b 46 7f ff 02 10 57 : crc=56 NO": the checksum does not match`},
		{"a w1 file cut off", device16 + "w1_slave", "9e 01 4b 46 7f ff 02 10 56 : crc=56 YES\n", ProbeOptions{}, 0, device.ErrFormat, `it holds "9e 01 4b 46 7f ff 02 10 56 : crc=56 YES"; expected two lines such as "... : crc=57 YES" and "... t=23125": not in the expected form`},
		{"a w1 file with no verdict", device16 + "w1_slave", w1("9e 01", "56", "MAYBE", "25875"), ProbeOptions{}, 0, device.ErrFormat, ""},
		{"a w1 temperature that is no number", device16 + "w1_slave", w1("9e 01", "56", "YES", "warm"), ProbeOptions{}, 0, device.ErrFormat, ""},
		{"a w1 temperature just colder than can be", device16 + "w1_slave", w1("9e 01", "56", "YES", "-55001"), ProbeOptions{}, 0, device.ErrFormat, "it reads -55001 thousandths of a degree, outside -55..125 °C: not in the expected form"},
		{"a w1 temperature just hotter than can be", device16 + "w1_slave", w1("9e 01", "56", "YES", "125001"), ProbeOptions{}, 0, device.ErrFormat, ""},

		{"hwmon thousandths", "hwmon/hwmon0/temp1_input", "21312\n", ProbeOptions{}, 21.312, nil, ""},
		{"iio thousandths", "iio:device0/in_temp_input", "-500\n", ProbeOptions{}, -0.5, nil, ""},
		{"the temperature file of a 1-Wire thermometer", device16 + "temperature", "21312\n", ProbeOptions{}, 21.312, nil, ""},
		{"a thermal zone", "thermal_zone0/temp", "48000\n", ProbeOptions{}, 48, nil, ""},
		{"thousandths by a stated format, in percent to a share", "rh", "55500\n", ProbeOptions{Format: "milli", Scale: 0.01}, 0.555, nil, ""},
		{"a hwmon name outside hwmon is a plain number", "mine/temp1_input", "21.5", ProbeOptions{}, 21.5, nil, ""},
		{"a fraction where thousandths should be", "hwmon0/temp1_input", "21.3\n", ProbeOptions{}, 0, device.ErrFormat, `it holds "21.3"; expected a whole number of thousandths such as 21312: not in the expected form`},

		{"a plain number", "air", "21.5\n", ProbeOptions{}, 21.5, nil, ""},
		{"a plain number without line end", "air", "-3", ProbeOptions{}, -3, nil, ""},
		{"a contact", "vent", "1\n", ProbeOptions{}, 1, nil, ""},
		{"spaces and CRLF around it", "air", " 4e0 \r\n", ProbeOptions{}, 4, nil, ""},
		{"scale before offset: 68 °F", "air", "68\n", ProbeOptions{Scale: 5. / 9, Offset: -160. / 9}, 20, nil, ""},
		{"an offset alone", "air", "21.5\n", ProbeOptions{Offset: -0.5}, 21, nil, ""},

		{"no file", "", "", ProbeOptions{}, 0, device.ErrAbsent, "the device is not there: no such file or directory"},
		{"an empty file", "air", "", ProbeOptions{}, 0, device.ErrFormat, "the file is empty; expected a decimal number such as 21.3: not in the expected form"},
		{"an empty w1 file", device16 + "w1_slave", "", ProbeOptions{}, 0, device.ErrFormat, `the file is empty; expected two lines such as "... : crc=57 YES" and "... t=23125": not in the expected form`},
		{"blanks only", "air", " \n\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"a word", "air", "warm\n", ProbeOptions{}, 0, device.ErrFormat, `it holds "warm"; expected a decimal number such as 21.3: not in the expected form`},
		{"NaN", "air", "NaN\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"infinity", "air", "inf\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"a number beyond all range", "air", "1e999\n", ProbeOptions{}, 0, device.ErrFormat, `it holds "1e999", out of range: not in the expected form`},
		{"a number that scale takes out of range", "air", "1e300\n", ProbeOptions{Scale: 1e300}, 0, device.ErrFormat, ""},
		{"a hexadecimal number", "air", "0x1p3\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"a decimal comma", "air", "21,5\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"two numbers", "air", "21.5\n21.6\n", ProbeOptions{}, 0, device.ErrFormat, ""},
		{"binary", "air", "\x00\xff\x1b[2J" + strings.Repeat("\x01", 60), ProbeOptions{}, 0, device.ErrFormat, `it holds "\x00\xff\x1b[2J` + strings.Repeat(`\x01`, 34) + `" and 26 bytes more; expected a decimal number such as 21.3: not in the expected form`},
		{"a number of 4096 characters", "air", strings.Repeat("0", 4095) + "7", ProbeOptions{}, 7, nil, ""},
		{"a file over 4 KiB", "air", strings.Repeat("0", 4096) + "7", ProbeOptions{}, 0, device.ErrFormat, "more than 4096 bytes: not in the expected form"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.o.Path = filepath.Join(t.TempDir(), "a", tt.path)
			if tt.path != "" {
				write(t, tt.o.Path, tt.text)
			}
			got, err := probe(t, tt.o).Read(t.Context())
			if !errors.Is(err, tt.fault) {
				t.Fatalf("got %v, %v; want fault %v", got, err, tt.fault)
			}
			// 1e-12 is far above the rounding of a double here.
			if math.Abs(got-tt.want) > 1e-12 {
				t.Errorf("got %v; want %v", got, tt.want)
			}
			if want := "probe lower/soil at " + tt.o.Path + ": " + tt.says; tt.says != "" && err.Error() != want {
				t.Errorf("got  %v\nwant %s", err, want)
			}
		})
	}
}

func TestReadFindsAFileThatCameBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "air")
	p := probe(t, ProbeOptions{Path: path})
	for _, text := range []string{"1", "2"} {
		if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("while away: %v; want ErrAbsent", err)
		}
		write(t, path, text)
		if v, err := p.Read(t.Context()); err != nil || (text == "1") != (v == 1) {
			t.Errorf("while there: %v, %v; want %s", v, err, text)
		}
		os.Remove(path)
	}
}

func TestReadOfADirectory(t *testing.T) {
	if v, err := probe(t, ProbeOptions{Path: t.TempDir()}).Read(t.Context()); err == nil || !strings.HasSuffix(err.Error(), "is a directory") {
		t.Errorf("got %v, %v; want it named a directory", v, err)
	}
}

func TestReadOfAnEndlessFileIsBounded(t *testing.T) {
	if v, err := probe(t, ProbeOptions{Path: "/dev/zero"}).Read(t.Context()); !errors.Is(err, device.ErrFormat) {
		t.Errorf("got %v, %v; want ErrFormat", v, err)
	}
}

func TestReadAfterClose(t *testing.T) {
	path := filepath.Join(t.TempDir(), "air")
	write(t, path, "1")
	p := probe(t, ProbeOptions{Path: path})
	p.Close()
	if _, err := p.Read(t.Context()); !errors.Is(err, os.ErrClosed) || p.Close() != nil {
		t.Errorf("got %v; want it closed, and closing twice to be fine", err)
	}
}

func TestReadOfAPipeWithoutWriterDoesNotWait(t *testing.T) {
	path := fifo(t)
	if _, err := probe(t, ProbeOptions{Path: path}).Read(t.Context()); !errors.Is(err, device.ErrFormat) {
		t.Errorf("got %v; want the pipe found empty", err)
	}
}

func TestReadOfASilentPipeEndsWithItsContext(t *testing.T) {
	path := fifo(t)
	w, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	p := probe(t, ProbeOptions{Path: path})
	ctx, cancel := context.WithCancel(t.Context())
	got := make(chan error)
	go func() {
		_, err := p.Read(ctx)
		got <- err
	}()
	for len(p.slot) == 0 {
		runtime.Gosched() // until the read is under way
	}
	cancel()
	if err := <-got; !errors.Is(err, context.Canceled) && !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v; want the read given up", err)
	}
	p.slot <- struct{}{} // the call itself must come back too, or this hangs the test
}

func fifo(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Skip(err)
	}
	return path
}

func TestHungReadsDoNotPileUp(t *testing.T) {
	p := probe(t, ProbeOptions{Path: "/anywhere"})
	hang := make(chan struct{})
	p.load = func(context.Context, string) ([]byte, error) { // a kernel that does not answer
		<-hang
		return []byte("7"), nil
	}
	gone, cancel := context.WithCancel(t.Context())
	got := make(chan error)
	go func() {
		_, err := p.Read(gone)
		got <- err
	}()
	for len(p.slot) == 0 {
		runtime.Gosched()
	}
	cancel()
	if err := <-got; !errors.Is(err, context.Canceled) {
		t.Fatalf("the first read: %v; want it given up", err)
	}
	before := runtime.NumGoroutine()
	for range 1000 {
		if _, err := p.Read(t.Context()); !errors.Is(err, device.ErrBusy) {
			t.Fatalf("a read while one hangs: %v; want ErrBusy", err)
		}
	}
	if now := runtime.NumGoroutine(); now > before {
		t.Errorf("%d goroutines after 1000 reads; want %d", now, before)
	}
	close(hang)
	for len(p.slot) != 0 {
		runtime.Gosched()
	}
	if v, err := p.Read(t.Context()); err != nil || v != 7 {
		t.Errorf("once it came back: %v, %v; want 7, not what the hung read left", v, err)
	}
}

func TestReadWithAContextThatIsOver(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	p := probe(t, ProbeOptions{Path: "/anywhere"})
	p.load = func(context.Context, string) ([]byte, error) { t.Error("the file was read"); return nil, nil }
	if _, err := p.Read(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v; want context.Canceled", err)
	}
}

func TestNewProbeRefuses(t *testing.T) {
	for name, o := range map[string]ProbeOptions{
		"no path":                {},
		"an unknown format":      {Path: "x", Format: "bcd"},
		"an infinite scale":      {Path: "x", Scale: math.Inf(1)},
		"an offset that's a NaN": {Path: "x", Offset: math.NaN()},
	} {
		if p, err := NewProbe(o); err == nil {
			t.Errorf("%s gives %v; want a fault", name, p)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, form := range []string{"", "w1", "milli", "plain"} {
		f.Add(form, w1("9e 01 4b 46 7f ff 02 10 56", "56", "YES", "25875"))
		f.Add(form, w1("9e 01 4b 46 7f ff 02 10 57", "56", "NO", "25875"))
		f.Add(form, " : crc= YES\n t=0")
		f.Add(form, "21.5\n")
		f.Add(form, "-.5e-3")
		f.Add(form, "\x00\xff")
	}
	f.Fuzz(func(t *testing.T, form, text string) {
		if form == "" {
			form = detect("/x/w", []byte(text))
		}
		v, err := parse(form, []byte(text))
		switch {
		case err != nil && (v != 0 || len(err.Error()) > 400 || strings.ContainsFunc(err.Error(), func(r rune) bool { return r < ' ' })):
			t.Fatalf("%q as %q: %v, %q", text, form, v, err)
		case math.IsNaN(v) || math.IsInf(v, 0):
			t.Fatalf("%q as %q: %v", text, form, v)
		case form == "w1" && (v < -55 || v > 125 || v == 85):
			t.Fatalf("%q as w1: %v", text, v)
		}
	})
}
