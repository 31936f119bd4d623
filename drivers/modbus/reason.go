package modbus

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"syscall"

	wire "github.com/simonvetter/modbus"

	"loambank/drivers/device"
)

// refusals are the exceptions of a station, application protocol 7.
var refusals = []error{
	wire.ErrIllegalFunction, wire.ErrIllegalDataAddress, wire.ErrIllegalDataValue, wire.ErrServerDeviceFailure,
	wire.ErrAcknowledge, wire.ErrServerDeviceBusy, wire.ErrMemoryParityError,
	wire.ErrGWPathUnavailable, wire.ErrGWTargetFailedToRespond,
}

func oneOf(err error, of ...error) bool {
	return slices.ContainsFunc(of, func(e error) bool { return errors.Is(err, e) })
}

// answered reports whether a whole answer came, so that the connection is good.
func answered(err error) bool {
	var own *ownFault
	return errors.As(err, &own) || oneOf(err, refusals...) || strings.Contains(err.Error(), "unknown exception code")
}

// ownFault is a fault found in a whole answer.
type ownFault struct{ error }

func (f *ownFault) Unwrap() error { return f.error }

// hungUp reports whether the other side closed the connection.
func hungUp(err error) bool {
	return oneOf(err, io.EOF, io.ErrUnexpectedEOF, syscall.ECONNRESET, syscall.EPIPE)
}

// reason says what an error of the library means.
func reason(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.As(err, new(*ownFault)):
		return err
	case oneOf(err, wire.ErrGWPathUnavailable, wire.ErrGWTargetFailedToRespond):
		return fmt.Errorf("%w: the gateway cannot reach the station: %w", device.ErrAbsent, err)
	case oneOf(err, wire.ErrIllegalFunction, wire.ErrIllegalDataAddress):
		return fmt.Errorf("the station has no such register: %w; look at unit and register, which count from 0", err)
	case oneOf(err, wire.ErrIllegalDataValue):
		return fmt.Errorf("the station refuses the value: %w; look at values and type", err)
	case answered(err):
		return fmt.Errorf("the station answers with a fault: %w", err)
	case oneOf(err, wire.ErrBadCRC):
		return fmt.Errorf("%w: %w; look at speed, parity and the line's ends", device.ErrCRC, err)
	case oneOf(err, wire.ErrShortFrame, wire.ErrProtocolError, wire.ErrBadUnitId, wire.ErrBadTransactionId, wire.ErrUnknownProtocolId):
		return fmt.Errorf("%w: %w", device.ErrFormat, err)
	case oneOf(err, wire.ErrRequestTimedOut):
		return fmt.Errorf("%w: the station does not answer: %w", device.ErrAbsent, err)
	}
	return fmt.Errorf("%w: %w", device.ErrAbsent, err)
}
