package find

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"loambank/drivers"
)

// ofMachine are the names, or their beginnings, of sensors that tell of the machine itself. Common
// practice, no source.
var ofMachine = [...]string{
	"cpu", "soc", "coretemp", "k10temp", "acpitz", "nvme", "drivetemp", "rpi_", "rp1_", "gpu", "amdgpu",
	"nouveau", "iwlwifi", "ath", "mt7", "pch_", "zenpower", "scpi", "thermal", "phy", "macb",
}

func own(name string) bool {
	for _, word := range ofMachine {
		if strings.HasPrefix(name, word) {
			return true
		}
	}
	return false
}

const mayMove = "the number in its path may change with a start"

// findFiles lists the kernel's sensor files.
func (f *Finder) findFiles(r *Report) {
	for _, path := range f.glob("class/hwmon/hwmon*/*_input") {
		dir, base := filepath.Split(path)
		name := f.word(rel(f.sys, filepath.Join(dir, "name")))
		kind := strings.TrimRight(strings.TrimSuffix(base, "_input"), "0123456789")
		if name == "w1_slave_temp" { // a 1-Wire thermometer once more
			continue
		}
		found := Found{Kind: File, At: path, Own: own(name), How: "hwmon " + name}
		if label := f.word(rel(f.sys, filepath.Join(dir, strings.TrimSuffix(base, "_input")+"_label"))); label != "" {
			found.How += ", " + label
		}
		switch kind { // Documentation/hwmon/sysfs-interface: thousandths of a degree and of a percent
		case "temp":
			found.Measure = Temperature
			found.Stanza = drivers.Stanza{Driver: "file", Path: path}
		case "humidity":
			found.Measure = Humidity
			found.Stanza = drivers.Stanza{Driver: "file", Path: path, Format: "milli", Scale: 0.01}
		default:
			continue // voltages and fans of the machine
		}
		found.Note = mayMove
		if found.Own {
			found.Note = "it tells of the machine itself"
		}
		r.add(found)
	}
	for _, dir := range f.glob("bus/iio/devices/iio:device*") {
		f.findIIO(r, dir)
	}
}

// iio are the quantities of the industrial I/O tree, and how many of the probe's unit its own is:
// Documentation/ABI/testing/sysfs-bus-iio (from memory): thousandths of °C and of a percent,
// kPa, percent, lux.
var iio = [...]struct {
	word    string
	measure Measure
	unit    float64
}{
	{"temp", Temperature, 0.001},
	{"humidityrelative", Humidity, 0.00001},
	{"pressure", Pressure, 1000},
	{"concentration_co2", CO2, 10_000},
	{"illuminance", Light, 1},
}

func (f *Finder) findIIO(r *Report, dir string) {
	name := f.word(rel(f.sys, filepath.Join(dir, "name")))
	for _, q := range iio {
		found := Found{Kind: File, Measure: q.measure, Own: own(name), How: "iio " + name, Note: mayMove}
		input, raw := filepath.Join(dir, "in_"+q.word+"_input"), filepath.Join(dir, "in_"+q.word+"_raw")
		switch {
		case there(input):
			found.At = input
			found.Stanza = drivers.Stanza{Driver: "file", Path: input, Format: "plain", Scale: q.unit}
			if q.measure == Temperature {
				found.Stanza.Format, found.Stanza.Scale = "milli", 0
			}
		case there(raw): // (raw + offset) · scale is in the tree's unit
			scale := f.number(filepath.Join(dir, "in_"+q.word+"_scale"), 1)
			offset := f.number(filepath.Join(dir, "in_"+q.word+"_offset"), 0)
			found.At = raw
			found.Stanza = drivers.Stanza{
				Driver: "file", Path: raw, Format: "plain",
				Scale: scale * q.unit, Offset: offset * scale * q.unit,
			}
		default:
			continue
		}
		r.add(found)
	}
}

// number is the number in a file, otherwise the one given.
func (f *Finder) number(path string, otherwise float64) float64 {
	if v, err := strconv.ParseFloat(f.word(rel(f.sys, path)), 64); err == nil {
		return v
	}
	return otherwise
}

func (f *Finder) glob(pattern string) []string {
	all, _ := filepath.Glob(filepath.Join(f.sys, pattern)) // the pattern is right
	return all
}

func there(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// rel is a path as it stands below root.
func rel(root, path string) string {
	return strings.TrimPrefix(filepath.Clean(path), filepath.Clean(root))
}
