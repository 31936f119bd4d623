package drivers

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"loambank/drivers/mqtt"
)

// brokers is the one table of the connections that probes share.
var brokers = mqtt.NewBrokers()

func openMQTTProbe(_ context.Context, s Stanza) (Probe, error) {
	p, err := brokers.NewProbe(mqtt.ProbeOptions{
		Name: s.Name, Broker: s.URL, Login: s.MQTT.Login,
		Topic: s.MQTT.Topic, JSON: s.MQTT.JSON, Stale: s.MQTT.Stale,
	})
	if err != nil {
		return nil, err
	}
	return s.calibrate(p), nil
}

func openMQTTFan(ctx context.Context, s Stanza) (Fan, error) {
	if s.ActiveLow {
		return nil, fmt.Errorf("fan %s: an order by MQTT has no low level; exchange the payloads", s.Name)
	}
	stages := max(len(s.Levels), 1)
	payloads := slices.Clone(s.MQTT.Payloads)
	if len(payloads) == 0 {
		for i := range stages + 1 {
			payloads = append(payloads, strconv.Itoa(i))
		}
	}
	if len(payloads) != stages+1 {
		return nil, fmt.Errorf("fan %s: %d payloads do not suit %d stages; write one for off and one for each level", s.Name, len(payloads), stages)
	}
	f, err := mqtt.NewFan(ctx, mqtt.FanOptions{
		Name: s.Name, Broker: s.URL, Login: s.MQTT.Login,
		Topic: s.MQTT.Topic, Payloads: payloads, State: s.MQTT.State, JSON: s.MQTT.JSON,
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}
