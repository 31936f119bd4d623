// Package ds18b20 reads thermometers of the DS18B20 family on a 1-Wire bus: DS18B20 (family code
// 28), DS1822 (22) and the older DS18S20 (10).
//
// A Read tells the chip to measure, waits for as long as its resolution takes, and reads the nine
// bytes of its scratchpad. The bus is free for other probes during the wait. Not here: opening
// and sharing a bus, searching for probes, judging, retrying and smoothing.
//
// Always: a temperature has passed the checksum, lies in -55..125 °C and was measured by this
// Read; the 85.000 °C that a chip holds after power-on is refused. A chip that fed itself from
// the data wire would measure wrongly where the bus has no strong pull-up, as the kernel's has
// none, so such wiring is refused too. A probe may be unplugged and plugged back: it is met afresh
// after every fault.
//
// Source: the data sheets of the DS18B20, the DS1822 and the DS18S20.
package ds18b20
