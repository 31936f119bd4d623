package mqtt

import (
	"fmt"
	"net/url"
	"sync"
)

// Brokers are the connections that probes share, one for each broker and login. Make them with
// NewBrokers, once for a process.
type Brokers struct {
	mu   sync.Mutex
	used map[meeting]*shared
}

// meeting is a broker and how it is met.
type meeting struct {
	url   string
	login Login
}

type shared struct {
	*link
	users int
}

// NewBrokers returns no connections.
func NewBrokers() *Brokers { return &Brokers{used: map[meeting]*shared{}} }

// take returns the link to a broker. The caller releases it once.
func (b *Brokers) take(broker *url.URL, login Login) (*link, func() error, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	key := meeting{broker.String(), login}
	s := b.used[key]
	if s == nil {
		l, err := dial(broker, login, options{})
		if err != nil {
			return nil, nil, fmt.Errorf("broker %s: %w", broker.Host, err)
		}
		s = &shared{link: l}
		b.used[key] = s
	}
	s.users++
	return s.link, func() error { return b.release(key, s) }, nil
}

func (b *Brokers) release(key meeting, s *shared) error {
	b.mu.Lock()
	s.users--
	last := s.users == 0
	if last {
		delete(b.used, key)
	}
	b.mu.Unlock()
	if last {
		return s.close()
	}
	return nil
}
