package drivers_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/judge"
	"loambank/drivers"
)

// fault is what goes wrong with the device behind a probe, which answered well before, and what the
// daemon makes of it: what its log says, and what the judge says of the probe with the defaults of
// its role. An error is no reading, so that the last verdict stands until the probe is stale.
type fault struct {
	driver string
	name   string
	role   judge.Role
	place  judge.Place // of air and soil

	// open opens the probe on a device that is well until broken is set, and again after.
	open func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error)
	// lasts is how long the fault stays, 31 min where it is 0: soil is stale after 30.
	lasts time.Duration

	is     error   // what the error of each faulty reading is; nil where any error or none will do
	says   string  // what the last error says; "" where the device gives a value
	reads  float64 // that value
	atOnce judge.Cause
	later  judge.Cause // once it has lasted
	mended judge.Cause // once it is over and three readings came; Missing is Fine

	lost    bool // it does not come back by itself
	network bool // real sockets, which no bubble of time holds
}

// tick is the default one, s.
const tick = 10.0

func TestWhatTheDaemonMakesOfFaults(t *testing.T) {
	rows := faults()
	for _, f := range rows {
		t.Run(f.driver+", "+f.name, func(t *testing.T) {
			if f.network {
				f.play(t)
				return
			}
			synctest.Test(t, func(t *testing.T) { f.play(t) }) // waits and hanging calls take no time
		})
	}
	if len(rows) < 40 {
		t.Errorf("%d faults; the table has been cut", len(rows))
	}
	for _, kind := range drivers.Kinds() {
		probe, _ := drivers.Opens(kind)
		if probe && !slices.ContainsFunc(rows, func(f fault) bool { return f.driver == kind }) {
			t.Errorf("no fault of driver %s", kind)
		}
	}
}

func faults() []fault {
	return slices.Concat(oneWireFaults(), hygrometerFaults(), chipFaults(), lineFaults(), fileFaults(), recordingFaults(),
		modbusFaults(), mqttFaults(), openingFaults())
}

// play breaks the device and mends it, and follows the judge.
func (f *fault) play(t *testing.T) {
	broken := new(atomic.Bool)
	p, err := f.open(t, broken)
	if err != nil {
		f.neverOpens(t, err)
		return
	}
	defer func() {
		if err := errors.Join(p.Close(), p.Close()); err != nil {
			t.Error(err)
		}
	}()
	s := judge.Defaults(f.role, f.place, 0)
	var st judge.State
	v := judge.Probe(&s, &st, f.well(t, p), tick)
	if v.Cause != judge.Fine {
		t.Fatalf("before the fault it is %v, %v; want it fine", v.Quality, v.Cause)
	}
	broken.Store(true)
	lasts := f.lasts
	if lasts == 0 {
		lasts = 31 * time.Minute
	}
	var last judge.Raw
	for i := 0; float64(i)*tick < lasts.Seconds(); i++ {
		if last, err = f.faulty(t, p); i > 0 && err == nil && f.says != "" {
			t.Fatalf("reading %d of a faulty device is %g", i, last.Value)
		}
		if v = judge.Probe(&s, &st, last, tick); i == 0 {
			f.want(t, "at once", v, f.atOnce)
		}
	}
	f.want(t, "later", v, f.later)
	if f.says == "" && (err != nil || math.Abs(last.Value-f.reads) > 0.5+math.Abs(f.reads)/1000) {
		t.Errorf("the last reading is %g, %v; want %g", last.Value, err, f.reads)
	}
	if f.says != "" && (err == nil || !strings.Contains(err.Error(), f.says) || !strings.Contains(err.Error(), "probe lower/")) {
		t.Errorf("the last error is %v; want the probe's name and %q", err, f.says)
	}
	broken.Store(false)
	if f.lost {
		return
	}
	if !f.network {
		time.Sleep(10 * time.Second) // in the bubble, so that calls that hung come back
	}
	for range 3 {
		v = judge.Probe(&s, &st, f.well(t, p), tick)
	}
	if f.mended == judge.Missing {
		f.mended = judge.Fine
	}
	f.want(t, "mended", v, f.mended)
}

// well reads a device that is well. One that was met again may need a second reading.
func (f *fault) well(t *testing.T, p drivers.Probe) judge.Raw {
	t.Helper()
	var v float64
	var err error
	for range 3 {
		if v, err = read(t, p); err == nil {
			return judge.Raw{Value: v, OK: true}
		}
	}
	t.Fatalf("a device that is well: %v", err)
	return judge.Raw{}
}

// faulty reads a device that is not, as the daemon does: an error is no reading.
func (f *fault) faulty(t *testing.T, p drivers.Probe) (judge.Raw, error) {
	t.Helper()
	v, err := read(t, p)
	if err == nil {
		return judge.Raw{Value: v, OK: true}, nil
	}
	if v != 0 || f.is != nil && !errors.Is(err, f.is) {
		t.Fatalf("%g, %v; want no value and %v", v, err, f.is)
	}
	return judge.Raw{}, err
}

// read reads with the daemon's bound of a call.
func read(t *testing.T, p drivers.Probe) (float64, error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	return p.Read(ctx)
}

// neverOpens follows the judge of a probe that the daemon cannot open.
func (f *fault) neverOpens(t *testing.T, err error) {
	t.Helper()
	if !strings.Contains(err.Error(), f.says) || f.says == "" || f.is != nil && !errors.Is(err, f.is) {
		t.Errorf("opening says %v; want %q and %v", err, f.says, f.is)
	}
	s := judge.Defaults(f.role, f.place, 0)
	var st judge.State
	v := judge.Probe(&s, &st, judge.Raw{}, tick)
	f.want(t, "at once", v, f.atOnce)
	v = judge.Probe(&s, &st, judge.Raw{}, 31*60)
	f.want(t, "later", v, f.later)
}

// qualities are those that each cause comes with here.
var qualities = map[judge.Cause]judge.Quality{
	judge.Fine: judge.Good, judge.Missing: judge.Bad, judge.Stale: judge.Bad, judge.ErrorValue: judge.Bad,
	judge.OutOfRange: judge.Bad, judge.NotANumber: judge.Bad, judge.Jump: judge.Doubtful, judge.Stuck: judge.Doubtful,
	judge.Pinned: judge.Doubtful, judge.Recovering: judge.Doubtful,
}

func (f *fault) want(t *testing.T, when string, v judge.Verdict, cause judge.Cause) {
	t.Helper()
	if v.Cause != cause || v.Quality != qualities[cause] {
		t.Errorf("%s: %v, %v, value %g; want %v, %v", when, v.Quality, v.Cause, v.Value, qualities[cause], cause)
	}
}
