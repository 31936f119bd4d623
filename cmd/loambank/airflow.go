package main

import (
	"fmt"
	"io"
	"strings"

	"loambank/controller"
)

// airflow is what the fans of a store move together at full speed, where the daemon learned it.
type airflow struct {
	Store   string  `json:"store"`
	FlowM3s float64 `json:"flow_m3s"`
	Stated  float64 `json:"stated_m3s"`
}

// asLearned lets the house's fans move what the daemon learned that they do. What cannot be read is
// told, and the settings count.
func (c *climate) asLearned(w *world) {
	flows, err := controller.LearnedAirflow(c.s.StateDir, c.h)
	if err != nil {
		fmt.Fprintf(w.stderr, "what the daemon learned cannot be read, so the stated airflow counts: %v\n", err)
		return
	}
	c.move(flows)
}

// move lets the fans of each store together move a flow, which counts as measured; 0 leaves them as
// they are stated.
func (c *climate) move(flows []float64) {
	for i, flow := range flows {
		if flow == 0 {
			continue
		}
		store := &c.h.House.Decide.Stores[i]
		stated := 0.0
		for j := range store.Fans {
			stated += store.Fans[j].FlowM3s
		}
		for j := range store.Fans {
			store.Fans[j].FlowM3s *= flow / stated
			store.Fans[j].Catalogue = false
		}
		c.airflow = append(c.airflow, airflow{store.Name, thousandth(flow), thousandth(stated)})
	}
}

// tellAirflow writes whose airflow counts, where it was learned.
func (c *climate) tellAirflow(w io.Writer) {
	if len(c.airflow) == 0 {
		return
	}
	var all []string
	for _, a := range c.airflow {
		all = append(all, fmt.Sprintf("%s %s (stated %s)", a.Store, c.s.Display.Flow(a.FlowM3s), c.s.Display.Flow(a.Stated)))
	}
	fmt.Fprintf(w, "Airflow as the daemon learned it, --stated ignores it: %s\n\n", strings.Join(all, ", "))
}
