package config

import (
	"fmt"
	"strings"

	"loambank/drivers"
	"loambank/drivers/modbus"
	"loambank/drivers/mqtt"
)

// lineUse is the first use of a Modbus bus.
type lineUse struct {
	table string
	link  modbus.Link
}

// network reads what stands behind a bus or a broker.
func (b *builder) network(table string, k DeviceKeys, as use, s *drivers.Stanza) {
	switch k.Driver {
	case "modbus":
		b.station(table, k, as, s)
	case "mqtt":
		b.atBroker(table, k, s)
	}
}

func (b *builder) station(table string, k DeviceKeys, as use, s *drivers.Stanza) {
	if k.URL != "" {
		b.bus(table, k.URL)
	}
	if k.Unit < 0 || k.Unit > 255 {
		b.fault(join(table, "unit"), fmt.Sprintf("%d is no station", k.Unit), "write 1 to 247, or what the gateway asks for")
	} else {
		s.Unit = uint8(k.Unit)
	}
	if k.Register == "" {
		return
	}
	var err error
	if s.Register, err = modbus.ParseRegister(k.Register); err != nil {
		b.told(join(table, "register"), err)
		return
	}
	for _, key := range []string{"type", "word_order"} {
		if s.Register.Table.Bits() && b.written(table, key) {
			b.fault(join(table, key), "a bit has no `"+key+"`", "remove it")
		}
	}
	if s.Register.Type, err = modbus.ParseType(k.Type); err != nil {
		b.told(join(table, "type"), err)
	}
	s.Register.LowFirst = b.choice(table, "word_order", k.WordOrder, "high first", "low first") == "low first"
	if t := s.Register.Table; as != asProbe && t != modbus.Coil && t != modbus.Holding {
		b.fault(join(table, "register"), t.String()+" registers are only read", `a fan needs a coil or a holding register, as in "coil 3"`)
	}
	if as == asOutput && s.Register.Table == modbus.Holding {
		b.fault(join(table, "register"), "a bell has two states", `write a coil, as in "coil 3"`)
	}
}

// bus checks that all devices of a bus mean the same one.
func (b *builder) bus(table, url string) {
	at := join(table, "url")
	link, err := modbus.ParseLink(url)
	if err != nil {
		b.told(at, err)
		return
	}
	first, is := b.wires[link.At]
	switch {
	case !is:
		b.wires[link.At] = lineUse{table, link}
	case first.link != link:
		b.fault(at, fmt.Sprintf("the line at %v has another speed, parity or stop bits in line %d", link, b.pos.find(first.table).line),
			"write the same for all its devices")
	}
}

// bus is where a bus is, however its URL is written.
func (k DeviceKeys) bus() string {
	if link, err := modbus.ParseLink(k.URL); err == nil {
		return link.At
	}
	return k.URL
}

func (b *builder) atBroker(table string, k DeviceKeys, s *drivers.Stanza) {
	s.MQTT = drivers.MQTT{Topic: k.Topic, JSON: k.JSON, Login: b.login(table, k.URL, k.BrokerKeys)}
	if k.Topic != "" {
		if err := mqtt.CheckTopic(k.Topic); err != nil {
			b.told(join(table, "topic"), err)
		}
	}
	if _, err := mqtt.ParsePath(k.JSON); err != nil {
		b.told(join(table, "json"), err)
	}
}

// login reads how a broker is met.
func (b *builder) login(table, url string, k BrokerKeys) mqtt.Login {
	if url != "" {
		broker, err := mqtt.ParseBroker(url)
		if err != nil {
			b.told(join(table, "url"), err)
		} else if broker.Scheme != "mqtts" && k.CAFile+k.CertFile+k.KeyFile != "" {
			b.fault(join(table, "url"), "a connection that is not encrypted has no certificates", "write mqtts://")
		}
	}
	if (k.CertFile == "") != (k.KeyFile == "") {
		b.fault(table, "a certificate and its key belong together", "write both cert_file and key_file")
	}
	if k.PasswordFile != "" && k.User == "" {
		b.missing(table, "user", "whose password it is")
	}
	return mqtt.Login{CAFile: k.CAFile, CertFile: k.CertFile, KeyFile: k.KeyFile, User: k.User, PasswordFile: k.PasswordFile}
}

// orders reads what a fan at a bus or broker is sent for each of its stages.
func (b *builder) orders(table string, t FanTable, speeds int, s *drivers.Stanza) {
	s.Values, s.MQTT.Payloads, s.MQTT.State = t.Values, t.Payloads, t.State
	count := func(key string, n int, example string) {
		if n != speeds+1 && b.written(table, key) {
			b.fault(join(table, key), fmt.Sprintf("%d %s do not suit %d levels", n, key, speeds), "write one for off, then one for each level, as in "+example)
		}
	}
	switch t.Driver {
	case "modbus":
		count("values", len(t.Values), "values = [0, 1]")
		b.values(table, t, s)
	case "mqtt":
		count("payloads", len(t.Payloads), `payloads = ["OFF", "ON"]`)
		b.payloads(table, t)
	default:
		return
	}
	if s.ActiveLow && (t.Driver == "mqtt" || len(t.Values) > 0) {
		b.fault(join(table, "active"), "what is sent says what runs the fan", "remove it, and write what is sent for off first")
	}
}

func (b *builder) values(table string, t FanTable, s *drivers.Stanza) {
	if s.Register.Table == modbus.Holding && t.Register != "" {
		b.missing(table, "values", "what is written for off, then for each level, as in values = [0, 1]")
	}
	seen := map[float64]bool{}
	for i, v := range t.Values {
		at := index(join(table, "values"), i)
		if _, err := s.Register.Encode(v); err != nil {
			b.fault(at, err.Error(), "write another value, or another type")
		} else if seen[v] {
			b.fault(at, plainNumber(v)+" stands for two stages", "write a value for each")
		}
		seen[v] = true
	}
}

func (b *builder) payloads(table string, t FanTable) {
	seen := map[string]bool{}
	for i, p := range t.Payloads {
		if p == "" || seen[p] {
			b.fault(index(join(table, "payloads"), i), quote(p)+" is empty or stands for two stages", "write a text for each")
		}
		seen[p] = true
	}
	if t.State == "" {
		if b.written(table, "json") {
			b.fault(join(table, "json"), "a fan without `state` tells nothing", "write the topic of its state, or remove it")
		}
		return
	}
	if err := mqtt.CheckTopic(t.State); err != nil {
		b.told(join(table, "state"), err)
	}
}

// orderLines notes what is sent for each stage.
func (b *builder) orderLines(t FanTable) {
	var words []string
	for _, v := range t.Values {
		words = append(words, plainNumber(v))
	}
	for _, p := range t.Payloads {
		words = append(words, quote(p))
	}
	if len(words) > 0 {
		b.line("sent", "off "+strings.Join(words, ", then "), false)
	}
	if t.State != "" {
		b.line("state", t.State, false)
	}
}

// told reports an error that says what is wrong and, after a semicolon, what would be right.
func (b *builder) told(at string, err error) {
	what, remedy, _ := strings.Cut(err.Error(), "; ")
	b.fault(at, what, remedy)
}
