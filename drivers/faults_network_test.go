package drivers_test

import (
	"io"
	"net"
	"testing"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/modbus"
)

// station answers each question on loopback with the bytes that follow the transaction's number.
// none closes the connection.
func station(well, bad []byte) func(*testing.T, *bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *bool) (drivers.Probe, error) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { l.Close() })
		answer := func() []byte {
			if *broken {
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
			Register: modbus.Register{Type: modbus.Int16}, Scale: 0.1,
		})
	}
}

func serve(c net.Conn, answer func() []byte) {
	defer c.Close()
	ask := make([]byte, 12)
	for {
		if _, err := io.ReadFull(c, ask); err != nil {
			return
		}
		b := answer()
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
