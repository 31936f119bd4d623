package mqtt

import (
	"testing"
)

func TestATellerHasTheBrokerKeepTexts(t *testing.T) {
	b := startBroker(t, "mqtt")
	teller, err := NewTeller(TellerOptions{Broker: b.url, Topic: "farm"})
	if err != nil {
		t.Fatal(err)
	}
	teller.Tell("lower", "cold")
	teller.Tell("upper", "warm")
	online, lower := b.listen(t, "farm/online"), b.listen(t, "farm/lower")
	until(t, "it is there", func() bool { return online.last() == "1" })
	until(t, "the first text", func() bool { return lower.last() == "cold" })
	teller.Tell("lower", "colder")
	until(t, "the next", func() bool { return lower.last() == "colder" })
	later := b.listen(t, "farm/upper")
	until(t, "a text is kept for who comes later", func() bool { return later.last() == "warm" })
	until(t, "no trouble", func() bool { return teller.Trouble() == nil })

	// The connection breaks: the broker says so, and is told all anew.
	teller.link.cm.TerminateConnectionForTest()
	until(t, "it is back", func() bool { return online.count() >= 3 && online.last() == "1" })

	if err := teller.Close(); err != nil {
		t.Error(err)
	}
	until(t, "it is gone", func() bool { return online.last() == "0" })
}

func TestWhatIsToldWhileTheBrokerIsAwayIsToldLater(t *testing.T) {
	b := startBroker(t, "mqtt")
	b.kill()
	teller, err := NewTeller(TellerOptions{Broker: b.url, Topic: "farm"})
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"first", "second", "last"} {
		teller.Tell("lower", text) // waits for nothing
	}
	if teller.Trouble() == nil {
		t.Error("a broker that is away is no trouble")
	}
	b.start(t)
	lower := b.listen(t, "farm/lower")
	until(t, "the last text", func() bool { return lower.last() == "last" })
	if err := teller.Close(); err != nil {
		t.Error(err)
	}
}

func TestTellersThatCannotBe(t *testing.T) {
	for _, o := range []TellerOptions{
		{Broker: "http://127.0.0.1", Topic: "a"},
		{Broker: "mqtt://127.0.0.1"},
		{Broker: "mqtt://127.0.0.1", Topic: "a/#"},
		{Broker: "mqtt://127.0.0.1", Topic: "a", Login: Login{User: "a", PasswordFile: "none"}},
	} {
		if teller, err := NewTeller(o); err == nil {
			teller.Close()
			t.Errorf("%+v is opened", o)
		}
	}
}
