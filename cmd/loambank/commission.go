package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/hand"
)

type commissionCommand struct {
	House  string        `help:"The house; not needed where there is one."`
	Settle time.Duration `help:"How long each fan runs before it is asked about." default:"3m"`
	Anew   bool          `help:"Begin a new round, also where an earlier one is not complete."`
	Show   bool          `help:"Show the newest baseline, and how the house compares with it now."`
	JSON   bool          `help:"Write the baseline as JSON; the talk goes to the other output."`
	Config string        `help:"Settings file of the running daemon." default:"/etc/loambank/farm.toml"`
}

// Help shows an example.
func (commissionCommand) Help() string {
	return "Examples:\n\n  loambank commission --house lower\n  loambank commission --house lower --show\n\n" +
		"A round through a house before its fans are trusted, and again at each new season: each fan runs\n" +
		"alone and you say where its air goes and what the anemometer reads; you trip each interlock and\n" +
		"pull each probe. What is found is kept as a dated baseline; a fan whose power or airflow strays\n" +
		"from it by a fifth is warned of. Every step can be skipped with s, the round stopped with q and\n" +
		"gone on with later.\n\n" +
		"Lock out the disconnect of a fan before you touch it. Fans run by orders by hand that end by\n" +
		"themselves within a minute and a half: frost protection and interlocks win over them, and a\n" +
		"command that is gone leaves every fan to the program.\n\n" +
		"Exit code 0: the round is complete and nothing failed; 1: something failed, or is left."
}

// Run makes the round, or shows what is kept of the last.
func (c *commissionCommand) Run(w *world) error {
	if c.Settle < time.Second || c.Settle > time.Hour {
		return usage{errors.New("--settle is 1s to 1h")}
	}
	at := &commissioned{w: w, talk: w.stdout}
	if c.JSON {
		at.talk = w.stderr
	}
	if err := at.find(c); err != nil {
		return err
	}
	look, err := at.ask(w.ctx, hand.Request{Do: hand.Look})
	if err != nil {
		return refused(err)
	}
	kept, err := at.ask(w.ctx, hand.Request{Do: hand.Round})
	if err != nil {
		return refused(err)
	}
	if c.Show {
		return at.show(kept, look.Look, c.JSON)
	}
	var goOn commission.Baseline
	if kept.Begun != nil && !c.Anew {
		goOn = *kept.Begun
	}
	o := commission.Options{SettleS: c.Settle.Seconds(), Display: at.display}
	b, err := at.walk(commission.Begin(o, look.Look, goOn, time.Now()))
	if err != nil {
		return refused(err)
	}
	return at.tell(&b, c.JSON)
}

// refused is the daemon's no as a no of the command.
func refused(err error) error {
	if errors.Is(err, hand.ErrNo) {
		return answerNo{err}
	}
	return err
}

// commissioned is the house that a round goes through, at the other end of a socket.
type commissioned struct {
	w       *world
	talk    io.Writer
	house   string
	socket  string
	display unit.Display
	zone    *time.Location
	unkept  error // of the last try to keep the round
}

// find takes the house out of the settings. Those that do not load may be running still.
func (at *commissioned) find(c *commissionCommand) error {
	at.house, at.zone = c.House, time.Local
	dir := stateDir(at.w.environ)
	if s, err := config.Load(c.Config, at.w.environ); err == nil {
		dir, at.display, at.zone = s.StateDir, s.Display, s.Site.Zone
		if at.house == "" && len(s.Houses) == 1 {
			at.house = s.Houses[0].House.Name
		}
	}
	at.socket = hand.SocketPath(dir)
	if at.house == "" {
		return usage{errors.New("which house? write --house NAME")}
	}
	return nil
}

func (at *commissioned) ask(ctx context.Context, r hand.Request) (*hand.Answer, error) {
	r.House = at.house
	return hand.Ask(ctx, at.socket, r)
}

// lookEvery is how often the house is looked at.
const lookEvery = 200 * time.Millisecond

// walk makes the round until it is over, a person stops it, or the terminal is gone.
func (at *commissioned) walk(s *commission.Session) (commission.Baseline, error) {
	ctx, stop := signal.NotifyContext(at.w.ctx, syscall.SIGHUP) // a terminal that is lost
	defer stop()
	lines, typed := readLines(at.w.stdin), terminal(at.w.stdout)
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	last, ask := time.Now(), ""
	for {
		var line *string
		from := lines
		if ask == "" && !typed {
			from = nil // what is piped in answers questions only
		}
		select {
		case <-ctx.Done():
			return s.Baseline(), at.leave()
		case text, more := <-from:
			if !more {
				text = "q"
				fmt.Fprintln(at.talk, "\nNobody answers any more.")
			} else if !typed {
				fmt.Fprintln(at.talk, text)
			}
			line = &text
		case <-tick.C:
		}
		now := time.Now()
		e := commission.Event{Now: now, PassedS: now.Sub(last).Seconds(), Line: line}
		last = now
		if a, err := at.ask(ctx, hand.Request{Do: hand.Look}); err == nil {
			e.Look = a.Look
		}
		if line != nil {
			ask = ""
		}
		turn := s.Update(e)
		if err := at.take(ctx, s, &turn, ask); err != nil {
			return s.Baseline(), errors.Join(err, at.leave())
		}
		if ask = turn.Ask; turn.Done {
			return s.Baseline(), nil
		}
	}
}

// take does what a turn wants. was is the question that stands on the screen still; empty is none.
func (at *commissioned) take(ctx context.Context, s *commission.Session, turn *commission.Turn, was string) error {
	if was != "" && len(turn.Say) > 0 {
		fmt.Fprintln(at.talk)
	}
	for _, text := range turn.Say {
		fmt.Fprintf(at.talk, "%s\n", wrap(text, width(at.talk), 0))
	}
	for _, o := range turn.Orders {
		if _, err := at.ask(ctx, request(o)); err != nil {
			return err
		}
	}
	if turn.Keep {
		b := s.Baseline()
		if _, at.unkept = at.ask(ctx, hand.Request{Do: hand.Round, Round: &b}); at.unkept != nil {
			fmt.Fprintf(at.talk, "This cannot be kept: %v\n", at.unkept)
		}
	}
	if turn.Ask != "" && (turn.Ask != was || len(turn.Say) > 0) {
		fmt.Fprintf(at.talk, "%s", wrap(turn.Ask, width(at.talk), 0)+" ")
	}
	return nil
}

// request is an order of a session as the daemon takes it.
func request(o commission.Order) hand.Request {
	switch o.Do {
	case commission.Run:
		return hand.Request{Do: hand.Run, Store: o.Store, Fan: o.Fan, Stage: int(o.Stage), ForS: o.ForS}
	case commission.Off:
		return hand.Request{Do: hand.Off, Store: o.Store, ForS: o.ForS}
	case commission.ClearSmoke:
		return hand.Request{Do: hand.Clear}
	}
	return hand.Request{Do: hand.Auto, Store: o.Store}
}

// leave gives the fans back when the round breaks off.
func (at *commissioned) leave() error {
	const patience = 5 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if _, err := at.ask(ctx, hand.Request{Do: hand.Auto}); err != nil {
		return fmt.Errorf("the fans could not be given back to the program; the orders of this round end by themselves within a minute and a half: %w", err)
	}
	fmt.Fprintln(at.talk, "\nBroken off; every fan goes by the program again. What is done is kept.")
	return nil
}

// readLines hands on what is typed. A read that nobody ends is left to the end of the program.
func readLines(r io.Reader) <-chan string {
	lines := make(chan string)
	go func() {
		defer close(lines)
		for scan := bufio.NewScanner(r); scan.Scan(); {
			lines <- strings.TrimSpace(scan.Text())
		}
	}()
	return lines
}
