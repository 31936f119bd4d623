package drivers_test

import (
	"io"
	"net"
	"sync/atomic"
	"testing"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/modbus"
)

// station answers each question on loopback with the bytes that follow the transaction's number; with
// none, or with less than a whole answer, it closes the connection.
func station(r modbus.Register, well, bad []byte) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { l.Close() })
		answer := func([]byte) []byte {
			if broken.Load() {
				return bad
			}
			return well
		}
		go func() {
			for {
				c, err := l.Accept()
				if err != nil {
					return
				}
				go serve(c, answer)
			}
		}()
		return drivers.OpenProbe(t.Context(), drivers.Stanza{
			Name: "lower/air", Driver: "modbus", URL: "tcp://" + l.Addr().String(), Unit: 1,
			Register: r, Scale: 0.1,
		})
	}
}

// serve answers questions of twelve bytes, as those of one register are.
func serve(c net.Conn, answer func(ask []byte) []byte) {
	defer c.Close()
	ask := make([]byte, 12)
	for {
		if _, err := io.ReadFull(c, ask); err != nil {
			return
		}
		b := answer(ask)
		if b == nil {
			return
		}
		if _, err := c.Write(append(ask[:2:2], b...)); err != nil {
			return
		}
		if len(b) < 7 {
			return
		}
	}
}

func modbusFaults() []fault {
	tenths := modbus.Register{Type: modbus.Int16}
	float := modbus.Register{Type: modbus.Float32}
	// Protocol 0, length, unit 1, function 3, bytes, and 101 as int16 or float32: MBAP, section 4.1 of
	// Modbus messaging on TCP/IP.
	well := []byte{0, 0, 0, 5, 1, 3, 2, 0, 101}
	wellFloat := []byte{0, 0, 0, 7, 1, 3, 4, 0x42, 0xca, 0, 0}
	row := func(name string, bad []byte, is error, says string) fault {
		return fault{
			driver: "modbus", name: name, role: judge.Air, place: judge.Crop, open: station(tenths, well, bad), is: is, says: says,
			atOnce: judge.Fine, later: judge.Stale, network: true,
		}
	}
	value := func(name string, high, low byte, reads float64, cause judge.Cause) fault {
		f := row(name, []byte{0, 0, 0, 5, 1, 3, 2, high, low}, nil, "")
		f.reads, f.atOnce, f.later = reads, cause, cause
		return f
	}
	nan := row("a float that is not a number", nil, drivers.ErrFormat, "are no finite number")
	nan.open = station(float, wellFloat, []byte{0, 0, 0, 7, 1, 3, 4, 0x7f, 0xc0, 0, 0})
	return []fault{
		row("no such register", []byte{0, 0, 0, 3, 1, 0x83, 2}, nil, "the station has no such register"),
		row("a station that is busy", []byte{0, 0, 0, 3, 1, 0x83, 6}, nil, "the station answers with a fault"),
		row("a gateway whose station is silent", []byte{0, 0, 0, 3, 1, 0x83, 0x0b}, drivers.ErrAbsent, "the gateway cannot reach the station"),
		row("another station's answer", []byte{0, 0, 0, 5, 9, 3, 2, 0, 101}, drivers.ErrFormat, "not in the expected form"),
		row("two words for one", []byte{0, 0, 0, 7, 1, 3, 4, 0, 101, 0, 101}, drivers.ErrFormat, "not in the expected form"),
		row("half an answer", []byte{0, 0, 0, 5}, drivers.ErrAbsent, "the device is not there"),
		row("a connection that is closed", nil, drivers.ErrAbsent, "the device is not there"),
		nan,
		value("a transmitter's word for a broken probe, -3276.8", 0x80, 0x00, -3276.8, judge.OutOfRange),
		value("a register in tenths of °F, 88.0", 0x03, 0x70, 88, judge.OutOfRange),
		value("85.0, power-on of what hangs behind it", 0x03, 0x52, 85, judge.ErrorValue),
	}
}
