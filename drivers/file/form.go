package file

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"loambank/drivers/device"
)

var (
	w1Device  = regexp.MustCompile(`^[0-9a-f]{2}-[0-9a-f]{12}$`)
	milliFile = regexp.MustCompile(`^(in_)?temp[0-9]*_input$`)
	// A temp1_input elsewhere is somebody's own file.
	sensorTree = regexp.MustCompile(`(^|/)(hwmon|iio)[^/]*(/|$)`)
	zone       = regexp.MustCompile(`^thermal_zone[0-9]+$`)
	number     = regexp.MustCompile(`^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?$`)
)

// detect tells the form from path and content.
func detect(path string, b []byte) string {
	base, dir := filepath.Base(path), filepath.Dir(path)
	parent := filepath.Base(dir)
	switch {
	case base == "w1_slave", bytes.Contains(b, []byte(" crc=")):
		return "w1"
	case milliFile.MatchString(base) && sensorTree.MatchString(dir),
		base == "temperature" && w1Device.MatchString(parent),
		base == "temp" && zone.MatchString(parent):
		return "milli"
	}
	return "plain"
}

func expected(form string) string {
	switch form {
	case "w1":
		return `two lines such as "... : crc=57 YES" and "... t=23125"`
	case "milli":
		return "a whole number of thousandths such as 21312"
	}
	return "a decimal number such as 21.3"
}

func unlike(form string, b []byte) error {
	return fmt.Errorf("it holds %s; expected %s: %w", show(b), expected(form), device.ErrFormat)
}

// parseW1 reads the text of the kernel's w1_therm driver: nine bytes of scratchpad with its
// verdict on their checksum, and again with the temperature in thousandths of a degree.
func parseW1(b []byte) (float64, error) {
	first, second, ok := strings.Cut(string(b), "\n")
	first = strings.TrimSpace(first)
	head, verdict, ok2 := strings.Cut(first, " : crc=")
	_, milli, ok3 := strings.Cut(second, " t=")
	if !ok || !ok2 || !ok3 {
		return 0, unlike("w1", b)
	}
	switch {
	case strings.HasSuffix(verdict, " NO"):
		return 0, fmt.Errorf("it holds %s: %w", show([]byte(first)), device.ErrCRC)
	case !strings.HasSuffix(verdict, " YES"):
		return 0, unlike("w1", b)
	case strings.Trim(head, "0 ") == "":
		// A shorted line reads as zeros, whose checksum is right.
		return 0, fmt.Errorf("all bytes are zero, as on a shorted line: %w", device.ErrFormat)
	}
	n, err := strconv.ParseInt(strings.TrimSpace(milli), 10, 32)
	switch {
	case err != nil:
		return 0, unlike("w1", b)
	case n == 85000:
		return 0, fmt.Errorf("it reads 85.000 °C: %w", device.ErrPowerOn)
	case n < -55000 || n > 125000:
		return 0, fmt.Errorf("it reads %d thousandths of a degree, outside -55..125 °C: %w", n, device.ErrFormat)
	}
	return float64(n) / 1000, nil
}

func parseMilli(b []byte) (float64, error) {
	n, err := strconv.ParseInt(string(b), 10, 64)
	if err != nil {
		return 0, unlike("milli", b)
	}
	return float64(n) / 1000, nil
}

func parsePlain(b []byte) (float64, error) {
	if !number.Match(b) {
		return 0, unlike("plain", b)
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if errors.Is(err, strconv.ErrRange) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("it holds %s, out of range: %w", show(b), device.ErrFormat)
	}
	return v, err
}
