package main

import (
	"context"
	"errors"
	"io/fs"
	"net"
	"os"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/hand"
	"loambank/drivers"
	"loambank/drivers/find"
)

type probesCommand struct {
	Config string `help:"Settings file; default /etc/loambank/farm.toml where it is there."`
	Watch  bool   `help:"Read again and again and show what changed; in a pipe a line each, once."`
	JSON   bool   `name:"json" help:"One JSON object a line instead."`
}

// Help shows an example.
func (probesCommand) Help() string {
	return "Example:\n\n  loambank probes --config farm.toml\n  loambank probes --watch\n\n" +
		"Lists the thermometers on the 1-Wire buses, known chips on the I²C buses, the kernel's sensor\n" +
		"files and the GPIO lines, with what they read now, what the settings use each for, and lines for\n" +
		"the settings of those that are new. Says what is missing where the machine has no such bus.\n" +
		"Nothing is switched and no line is taken; chips that a running loambank reads are left to it.\n\n" +
		"Which probe is which? Watch, and hold one in your hand: it shows the change since the start.\n" +
		"In a pipe --watch writes once, with tabs between: kind, bus, where, quantity, value, unit, user,\n" +
		"fault. Probes on a network (modbus, mqtt) are not looked for."
}

// usualConfig is where other commands look for the settings by themselves.
const usualConfig = "/etc/loambank/farm.toml"

// readTimeout bounds one reading: a CO₂ chip that is woken has its first value after 5 s.
const readTimeout = 8 * time.Second

// Run lists what is there.
func (c *probesCommand) Run(w *world) error {
	if c.Watch && c.JSON {
		return usage{errors.New("--watch and --json are two forms; choose one")}
	}
	s, err := c.settings(w)
	if err != nil {
		return err
	}
	v := newSurvey(s)
	finder := find.New("/sys", "/dev")
	if v.daemon {
		finder.Leave = v.leave
	}
	v.take(finder.Find(w.ctx))
	defer v.close()
	if c.Watch {
		return v.watch(w.ctx, w.stdout)
	}
	v.read(w.ctx)
	if c.JSON {
		return v.json(w.stdout)
	}
	v.print(w.stdout, width(w.stdout))
	return nil
}

// settings loads the settings, or none where none are named and none are in the usual place.
func (c *probesCommand) settings(w *world) (*config.Settings, error) {
	path := c.Config
	if path == "" {
		path = usualConfig
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return nil, nil
		}
	}
	return load(w, path)
}

// survey is what was found and what the settings make of it.
type survey struct {
	display unit.Display
	known   bool // there are settings
	daemon  bool // a loambank runs by these settings
	users   []user
	items   []*item
	advice  []find.Advice
	absent  []user // configured, and not found
}

// item is one thing that was found.
type item struct {
	find.Found
	users []user
	probe drivers.Probe // open; nil before the first reading and where there is none
	value *float64      // nil where there is no reading
	first *float64      // the first one
	fault error         // of the last reading
}

func newSurvey(s *config.Settings) *survey {
	if s == nil {
		return &survey{}
	}
	return &survey{display: s.Display, known: true, daemon: running(s.StateDir), users: usersOf(s)}
}

// running reports whether a loambank answers in a state directory. One that may not be asked is
// taken to run.
func running(dir string) bool {
	conn, err := net.DialTimeout("unix", hand.SocketPath(dir), time.Second)
	if err == nil {
		conn.Close()
	}
	return err == nil || errors.Is(err, fs.ErrPermission)
}

// readable reports whether an item can be read.
func (i *item) readable() bool {
	probe, _ := drivers.Opens(i.Stanza.Driver)
	return probe && (i.Measure != find.Nothing || len(i.users) > 0)
}

// read reads every item that can be read, all at once.
func (v *survey) read(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, readTimeout)
	defer cancel()
	done := make(chan struct{})
	n := 0
	for _, i := range v.items {
		if !i.readable() {
			continue
		}
		n++
		go func() { // each bounds itself by ctx, and is waited for
			i.read(ctx)
			done <- struct{}{}
		}()
	}
	for range n {
		<-done
	}
}

func (i *item) read(ctx context.Context) {
	i.value = nil
	if i.probe == nil {
		if i.probe, i.fault = drivers.OpenProbe(ctx, i.Stanza); i.fault != nil {
			i.probe = nil
			return
		}
	}
	value, err := i.probe.Read(ctx)
	if i.fault = err; err != nil {
		return
	}
	i.value = &value
	if i.first == nil {
		i.first = &value
	}
}

func (v *survey) close() {
	for _, i := range v.items {
		if i.probe != nil {
			i.probe.Close()
		}
	}
}
