package modbus

import (
	"fmt"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	wire "github.com/simonvetter/modbus"
)

// Link is where a bus is reached.
type Link struct {
	Serial   bool
	At       string // host:port, or the path of the serial port
	Speed    uint   // of a serial line, bit/s
	Parity   string // of a serial line, "none", "even" or "odd"
	StopBits uint   // of a serial line
}

// speeds are the usual ones, bit/s.
var speeds = []uint{1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200}

// ParseLink reads "tcp://host:port" (port 502 where none is stated) or
// "rtu:///dev/ttyUSB0?speed=9600&parity=none&stop_bits=1". A serial line has 19200 bit/s and even
// parity where nothing is stated, as the standard asks, and 1 stop bit with parity, 2 without.
func ParseLink(text string) (Link, error) {
	u, err := url.Parse(text)
	if err != nil {
		return Link{}, fmt.Errorf("%.80q is no URL; %s", text, either)
	}
	switch {
	case u.Scheme == "tcp" && u.Hostname() != "" && strings.Trim(u.Path, "/") == "" && u.RawQuery == "" && u.User == nil:
		port := u.Port()
		if port == "" {
			port = "502"
		}
		if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
			return Link{}, fmt.Errorf("%.40q is no port; write 1 to 65535", port)
		}
		return Link{At: net.JoinHostPort(u.Hostname(), port)}, nil
	case u.Scheme == "rtu" && u.Host == "" && len(u.Path) > 1:
		return parseLine(u)
	}
	return Link{}, fmt.Errorf("%.80q leads to no bus; %s", text, either)
}

const either = `write "tcp://192.0.2.7:502" or "rtu:///dev/ttyUSB0?speed=9600&parity=even"`

func parseLine(u *url.URL) (Link, error) {
	l := Link{Serial: true, At: u.Path, Speed: 19200, Parity: "even"}
	query, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return Link{}, fmt.Errorf("%.80q cannot be read; %s", u.RawQuery, either)
	}
	for key, values := range query {
		n, _ := strconv.ParseUint(values[0], 10, 32) // 0 is refused below
		v := values[0]
		switch {
		case len(values) == 1 && key == "speed" && slices.Contains(speeds, uint(n)):
			l.Speed = uint(n)
		case len(values) == 1 && key == "parity" && (v == "none" || v == "even" || v == "odd"):
			l.Parity = v
		case len(values) == 1 && key == "stop_bits" && (n == 1 || n == 2):
			l.StopBits = uint(n)
		default:
			return Link{}, fmt.Errorf("a serial line has no %s=%.20s; it has a speed of %v, parity none, even or odd, stop_bits 1 or 2", key, v, speeds)
		}
	}
	if l.StopBits == 0 {
		l.StopBits = 1
		if l.Parity == "none" {
			l.StopBits = 2
		}
	}
	return l, nil
}

// String returns the link as its user would find it.
func (l Link) String() string { return l.At }

// patience is how long a station may take to answer; a serial one is near.
func (l Link) patience() time.Duration {
	if l.Serial {
		return 500 * time.Millisecond
	}
	return time.Second
}

func (l Link) client() (*wire.ModbusClient, error) {
	c := wire.ClientConfiguration{URL: "tcp://" + l.At, Timeout: l.patience(), Logger: silent}
	if l.Serial {
		c.URL, c.Speed, c.DataBits, c.StopBits = "rtu://"+l.At, l.Speed, 8, l.StopBits
		c.Parity = map[string]uint{"none": wire.PARITY_NONE, "even": wire.PARITY_EVEN, "odd": wire.PARITY_ODD}[l.Parity]
	}
	return wire.NewClient(&c)
}
