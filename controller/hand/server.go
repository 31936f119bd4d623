package hand

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"sync"
	"time"

	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/commission"
	"loambank/controller/decide"
)

// Farm is what orders are given to.
type Farm interface {
	Order(house, store string, o decide.Order, who controller.Person) error
	OrderOne(house, store, fan string, o decide.Order, who controller.Person) error
	ClearFault(house string, who controller.Person) error
	KeepBaseline(b *commission.Baseline, who controller.Person) error
	Baselines(house string) (whole, begun *commission.Baseline, err error)
	ExpectLow(house string, low unit.Celsius, who controller.Person) error
	Acknowledge(who controller.Person)
	BelieveClock(who controller.Person) error
	View() *controller.View
}

const (
	maxBytes  = 512 << 10       // of a request or an answer
	patience  = 5 * time.Second // with a caller
	tickWait  = 3 * time.Second // for the tick that takes an order
	tickEvery = 50 * time.Millisecond
)

// Listen makes the socket. Its mode lets the owner and the group of the state directory give orders.
func Listen(path string) (net.Listener, error) {
	if err := os.Remove(path); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("socket for orders: %w", err)
	}
	l, err := net.Listen("unix", path)
	if err != nil {
		return nil, fmt.Errorf("socket for orders: %w", err)
	}
	if err := os.Chmod(path, 0o660); err != nil {
		return nil, errors.Join(fmt.Errorf("socket for orders: %w", err), l.Close())
	}
	return l, nil
}

// Serve answers requests until ctx is done, then closes the socket and waits for those under way.
func Serve(ctx context.Context, l net.Listener, farm Farm, log *slog.Logger) {
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	var calls sync.WaitGroup
	defer calls.Wait()
	for {
		conn, err := l.Accept()
		if err != nil {
			if ctx.Err() == nil {
				log.Error("no orders by hand are taken any more", "err", err)
			}
			return
		}
		calls.Go(func() {
			defer conn.Close()
			serve(ctx, conn, farm, log)
		})
	}
}

func serve(ctx context.Context, conn net.Conn, farm Farm, log *slog.Logger) {
	if err := conn.SetDeadline(time.Now().Add(patience)); err != nil {
		return
	}
	who := caller(conn)
	var r Request
	answer := Answer{Schema: 1}
	if err := json.NewDecoder(io.LimitReader(conn, maxBytes)).Decode(&r); err != nil {
		answer.Error = err.Error()
	} else {
		answer = Obey(ctx, farm, &r, who, log)
	}
	if err := json.NewEncoder(conn).Encode(&answer); err != nil {
		log.Warn("whoever gave an order did not wait for the answer", "who", who.String(), "err", err)
	}
}

// Obey checks a request, gives it to the farm on behalf of who, and tells what came of it: after the
// next tick of the house, or in three seconds, or when ctx is done.
func Obey(ctx context.Context, farm Farm, r *Request, who controller.Person, log *slog.Logger) Answer {
	answer := Answer{Schema: 1}
	err := r.Check()
	switch {
	case err != nil:
	case r.Do == Look || r.Do == Round:
		err = show(farm, r, who, &answer)
	default:
		began := time.Now()
		if err = obey(farm, r, who); err == nil {
			log.Info("order by hand", "who", who.String(), "do", r.Do, "house", r.House, "store", r.Store, "fan", r.Fan, "for_s", r.ForS, "stage", r.Stage)
			answer.Text = outcome(ctx, farm, r, began)
		}
	}
	if err != nil {
		answer.Error = err.Error()
	}
	return answer
}

// show answers what is asked only to be seen, and keeps a round.
func show(farm Farm, r *Request, who controller.Person, answer *Answer) (err error) {
	switch {
	case r.Round != nil:
		return farm.KeepBaseline(r.Round, who)
	case r.Do == Round:
		answer.Whole, answer.Begun, err = farm.Baselines(r.House)
		return err
	}
	for _, h := range farm.View().Houses {
		if h.Settings.House.Name == r.House {
			answer.Look = &h.Look
			return nil
		}
	}
	return fmt.Errorf("house %s is not there, or has not ticked yet; ask again in a while", r.House)
}

func obey(farm Farm, r *Request, who controller.Person) error {
	switch r.Do {
	case Quiet:
		farm.Acknowledge(who)
		return nil
	case Clock:
		return farm.BelieveClock(who)
	case Clear:
		return farm.ClearFault(r.House, who)
	case Low:
		return farm.ExpectLow(r.House, unit.Celsius(*r.LowC), who)
	}
	o := decide.Order{Kind: decide.OrderAuto, ForS: float64(r.ForS)}
	switch r.Do {
	case Run:
		o.Kind, o.Stage = decide.OrderRun, uint8(r.Stage)
	case Off:
		o.Kind = decide.OrderOff
	}
	if r.Fan != "" {
		return farm.OrderOne(r.House, r.Store, r.Fan, o, who)
	}
	return farm.Order(r.House, r.Store, o, who)
}

// outcome is what the house says once a tick has taken the order.
func outcome(ctx context.Context, farm Farm, r *Request, began time.Time) string {
	switch r.Do {
	case Quiet:
		return "The bell is silent for what it sounded for."
	case Clock:
		return "The clock is believed until loambank ends."
	}
	ctx, cancel := context.WithTimeout(ctx, tickWait)
	defer cancel()
	for {
		for _, h := range farm.View().Houses {
			if h.Settings.House.Name == r.House && h.Ticked.After(began) {
				return h.Sentence
			}
		}
		select {
		case <-ctx.Done():
			return "Taken. The house has not ticked since; look again in a while."
		case <-time.After(tickEvery):
		}
	}
}
