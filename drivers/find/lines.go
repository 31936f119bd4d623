package find

import (
	"context"
	"fmt"
	"path/filepath"
)

// findLines lists the GPIO lines.
func (f *Finder) findLines(ctx context.Context, r *Report) {
	lines, err := f.lines(ctx)
	if err != nil {
		r.advise(Line, fmt.Sprintf("not every GPIO line can be listed: %v", err))
	}
	if len(lines) == 0 && err == nil {
		chips, _ := filepath.Glob(filepath.Join(f.dev, "gpiochip*"))
		if len(chips) == 0 {
			r.advise(Line, fmt.Sprintf("this machine shows no GPIO line: there is no gpiochip in %s; a relay needs a board with a GPIO header, a USB relay is driven over Modbus or MQTT", f.dev))
		}
	}
	for _, l := range lines {
		found := Found{
			Kind: Line, Bus: fmt.Sprintf("%s:%d", l.Chip, l.Number), At: l.Name, Holder: l.Holder,
			How: "by the kernel's list of lines",
		}
		if l.Used && l.Holder == "" {
			found.Holder = "somebody without a name"
		}
		r.add(found)
	}
}
