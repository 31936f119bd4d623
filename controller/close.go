package controller

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"loambank/drivers"
)

// same also wants the same simulated house behind both.
func same(a, b drivers.Stanza) bool { return a.Same(b) && a.Simulated.House == b.Simulated.House }

// takeProbe takes the probe of that stanza out of d, or returns nil.
func (d *devices) takeProbe(stanza drivers.Stanza) *probe {
	i := slices.IndexFunc(d.probes, func(p *probe) bool { return same(p.stanza, stanza) })
	if i < 0 {
		return nil
	}
	p := d.probes[i]
	d.probes = slices.Delete(d.probes, i, i+1)
	p.stanza = stanza // it may stand on another line
	return p
}

// takeFan takes the fan of that stanza out of d, or returns nil.
func (d *devices) takeFan(stanza drivers.Stanza) *fan {
	i := slices.IndexFunc(d.fans, func(f *fan) bool { return same(f.stanza, stanza) })
	if i < 0 {
		return nil
	}
	f := d.fans[i]
	d.fans = slices.Delete(d.fans, i, i+1)
	f.stanza = stanza
	return f
}

// close closes the devices, fans first: closing puts them off. One that hangs is left behind and
// named.
func (d *devices) close() error {
	ctx, cancel := context.WithTimeout(context.Background(), stopTimeout)
	defer cancel()
	for _, f := range d.fans {
		f.worker.close()
	}
	for _, p := range d.probes {
		p.worker.close()
	}
	var faults []error
	for _, f := range d.fans {
		faults = append(faults, closing(ctx, f.worker.closed, "fan "+f.stanza.Name))
	}
	for _, p := range d.probes {
		faults = append(faults, closing(ctx, p.worker.closed, "probe "+p.stanza.Name))
	}
	return errors.Join(faults...)
}

func closing(ctx context.Context, closed <-chan error, name string) error {
	select {
	case err := <-closed:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-closed: // while another device used up the time
		return err
	default:
		return fmt.Errorf("%s: %w", name, errHung)
	}
}
