package page

import (
	"bytes"
	"net/http"
	"strings"
	"time"

	"loambank/controller"
)

const (
	lookEvery = time.Second      // a scaled clock ticks faster than anyone can read
	sayEvery  = 15 * time.Second // so that both ends notice a line that is dead
	sendIn    = 10 * time.Second
)

// live sends each house's part of the page as a server-sent event "house" once it has ticked.
func (s *site) live(w http.ResponseWriter, r *http.Request) {
	select {
	case s.lines <- struct{}{}:
		defer func() { <-s.lines }()
	default:
		w.Header().Set("Retry-After", "60")
		refuse(w, http.StatusServiceUnavailable, "too many pages are open; this one stays as it is until it is loaded again")
		return
	}
	p, status, err := s.pickOf(r.URL.Query())
	if err != nil {
		refuse(w, status, err.Error())
		return
	}
	w.Header().Set("Content-Type", "text/event-stream")
	line := &liveLine{w: w, control: http.NewResponseController(w)}
	_ = line.control.SetReadDeadline(time.Time{}) // a server that limits reading would take the silence of a reader for its end
	if !line.send(": loambank\nretry: 5000\n\n") {
		return
	}
	sent := map[string]time.Time{}
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for spoken := s.o.Now(); ; {
		v := s.o.View()
		text := s.events(v, ticked(p.choose(v), sent), p)
		if text == "" && s.o.Now().Sub(spoken) >= sayEvery {
			text = ": still here\n\n"
		}
		if text != "" {
			spoken = s.o.Now()
			if !line.send(text) {
				return
			}
		}
		select {
		case <-tick.C:
		case <-r.Context().Done():
			return
		}
	}
}

// ticked returns the houses that have ticked since they were sent, and notes them.
func ticked(all []controller.Shown, sent map[string]time.Time) (fresh []controller.Shown) {
	for _, h := range all {
		name := h.Settings.House.Name
		if last, found := sent[name]; found && last.Equal(h.Ticked) {
			continue
		}
		sent[name] = h.Ticked
		fresh = append(fresh, h)
	}
	return fresh
}

// events renders houses, each as an event.
func (s *site) events(v *controller.View, fresh []controller.Shown, p *pick) string {
	if len(fresh) == 0 {
		return ""
	}
	var all strings.Builder
	f := s.collect(v, fresh)
	for i := range f.Houses {
		var b bytes.Buffer
		if err := templates.ExecuteTemplate(&b, "house", panelOf(&f.Houses[i], p)); err != nil {
			continue // a fault of the template, which the page shows too
		}
		all.WriteString("event: house\n")
		for line := range strings.Lines(strings.TrimSpace(b.String())) {
			all.WriteString("data: " + strings.TrimRight(line, "\r\n") + "\n")
		}
		all.WriteString("\n")
	}
	return all.String()
}

// liveLine is one connection. Each sending has its own time limit, as the server's is for all.
type liveLine struct {
	w       http.ResponseWriter
	control *http.ResponseController
}

func (l *liveLine) send(text string) bool {
	_ = l.control.SetWriteDeadline(time.Now().Add(sendIn)) // where there is none, the server's holds
	if _, err := l.w.Write([]byte(text)); err != nil {
		return false
	}
	return l.control.Flush() == nil
}
