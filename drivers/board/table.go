package board

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"loambank/drivers/device"
)

// listed is a bus that the kernel has.
type listed[B closer] struct {
	name    string
	aliases []string
	number  int // -1 where it has none
	open    func() (B, error)
}

// short returns the name of a bus for people.
func (l listed[B]) short() string {
	if len(l.aliases) > 0 {
		return l.aliases[0]
	}
	return l.name
}

// table holds the buses of one kind that are in use. One is opened for its first user and closed
// after its last.
type table[B closer] struct {
	kind   string // "1-Wire"
	none   string // what to do where there is no bus of this kind
	listed func() []listed[B]

	mu   sync.Mutex
	used map[string]*shared[B] // by the kernel's name
}

// take opens the bus of that name, alias or number, "" the first. The caller releases it once.
func (t *table[B]) take(name string) (*shared[B], func() error, error) {
	found, err := t.find(name)
	if err != nil {
		return nil, nil, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	s := t.used[found.name]
	if s == nil {
		s = newShared(t.kind, found.short(), found.open)
		if err := s.ready(); err != nil {
			return nil, nil, err
		}
		t.used[found.name] = s
	}
	s.users++
	return s, func() error { return t.release(found.name, s) }, nil
}

func (t *table[B]) release(key string, s *shared[B]) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if s.users--; s.users > 0 {
		return nil
	}
	delete(t.used, key)
	return s.close()
}

func (t *table[B]) find(name string) (listed[B], error) {
	all := t.listed()
	if len(all) == 0 {
		return listed[B]{}, fmt.Errorf("%w: no %s bus; %s", device.ErrAbsent, t.kind, t.none)
	}
	if name == "" {
		return slices.MinFunc(all, func(a, b listed[B]) int {
			return cmp.Compare(uint(a.number), uint(b.number)) // a bus without number, -1, comes last
		}), nil
	}
	var names []string
	for _, l := range all {
		if name == l.name || slices.Contains(l.aliases, name) || l.number >= 0 && name == strconv.Itoa(l.number) {
			return l, nil
		}
		names = append(names, l.short())
	}
	return listed[B]{}, fmt.Errorf("%w: no %s bus %.40q; there is %s", device.ErrAbsent, t.kind, name, strings.Join(names, ", "))
}
