package device

import (
	"fmt"
	"io"
)

// Release closes the bus or line that a device held, where it can be closed. The error names the
// device.
func Release(of fmt.Stringer, held any) error {
	c, ok := held.(io.Closer)
	if !ok {
		return nil
	}
	if err := c.Close(); err != nil {
		return fmt.Errorf("%v: %w", of, err)
	}
	return nil
}
