// Package file reads probes from, and writes fans to, files: the kernel's sysfs attributes (w1,
// hwmon, iio, leds, pwm) and plain files that another program keeps.
//
// A probe file is read afresh at each Read, at most 4 KiB of it, in one of three forms:
//
//	w1     the two lines of a w1_slave file; °C
//	milli  a whole number of thousandths, as hwmon and iio give it
//	plain  one decimal number
//
// A fan file takes a whole number, in one of three forms:
//
//	plain  0 or 1
//	led    0 to the max_brightness beside it (1 where there is none)
//	pwm    0 to 255 of a hwmon pwm file, or 0 to the period beside a duty_cycle file
//
// With no form stated, both are found out from path and content. Not here: 1-Wire searches, GPIO
// lines, any judging, retrying or smoothing.
//
// Always: a call returns by its deadline, or after 5 s where it has none, even when the kernel
// does not answer. The call that hangs is left behind, but never a second one: until it comes
// back, further calls return ErrBusy at once.
package file
