package config

import "loambank/drivers/mqtt"

// Publish is the broker at which the farm's state is kept. The zero value is none.
type Publish struct {
	Present bool
	To      mqtt.TellerOptions
}

// buildPublish reads where the farm's state is told.
func (b *builder) buildPublish(t *PublishTable) (p Publish) {
	b.group = "publish"
	if t == nil {
		b.line("url", "none", true)
		return p
	}
	const table = "publish"
	const example = `as in publish = { url = "mqtt://192.0.2.7", topic = "farm" }`
	if t.URL == "" {
		b.missing(table, "url", example)
	}
	if t.Topic == "" {
		b.missing(table, "topic", example)
	}
	p.Present = true
	p.To = mqtt.TellerOptions{Broker: t.URL, Topic: t.Topic, Login: b.login(table, t.URL, t.BrokerKeys)}
	if t.Topic == "" {
		return p
	}
	if err := mqtt.CheckTopic(t.Topic); err != nil {
		b.told(join(table, "topic"), err)
		return p
	}
	b.line("url", t.URL, false)
	b.line("topic", t.Topic, false)
	return p
}
