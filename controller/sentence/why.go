package sentence

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// Speaker knows how the grower wants to be spoken to. Its zero value speaks SI without a currency.
type Speaker struct {
	Display  unit.Display
	Currency string // as prices are shown, such as "$"; empty says "money"
}

// Why says what made a store's decision, as a clause without a full stop: "bringing heat up:
// house 38 °F, soil 57 °F". s is the house the decision was taken for.
func (sp Speaker) Why(s *decide.Settings, r decide.Reason) string {
	c := clause{sp: sp, s: s, r: r}
	switch {
	case r.Code < decide.ActionDue:
		return c.taken()
	case r.Code < decide.FrostNoHelp:
		return c.running()
	case r.Code < decide.ChargeNotAllowed:
		return c.notDischarging()
	case r.Code < decide.WaitRest:
		return c.notCharging()
	}
	return c.waiting()
}

// clause renders one reason.
type clause struct {
	sp Speaker
	s  *decide.Settings
	r  decide.Reason
}

// taken renders holds, hand, frost and fallback.
func (c *clause) taken() string {
	switch c.r.Code {
	case decide.HoldSmoke:
		return "smoke was reported; a person has to clear it"
	case decide.HoldWater:
		return "water stands in the pipes"
	case decide.HandRun:
		return "run by hand, " + c.left() + c.both()
	case decide.HandOff:
		return "kept off by hand, " + c.left()
	case decide.HandSwitch:
		return "the panel switch is not on automatic"
	case decide.FrostProtect:
		return fmt.Sprintf("saving the crop from frost: house %s, soil %s", c.temp(c.r.Have), c.soil())
	case decide.FallbackNight:
		return fmt.Sprintf("the air cannot be read; running through the night, soil %s", c.soil())
	case decide.FallbackDay:
		return "the air cannot be read; fans stay off by day"
	case decide.FallbackMonths:
		return "the air cannot be read; fans stay off outside the cold months"
	case decide.FallbackSoil:
		return fmt.Sprintf("the air cannot be read; the soil at %s is under %s and cannot help",
			c.temp(c.r.Have), c.set(c.r.Need))
	case decide.FallbackBlind:
		return "neither air nor soil can be read"
	case decide.FallbackNever:
		return "the air cannot be read; fans stay off until it is"
	case decide.AirGrace:
		since := "has not been read yet"
		if c.r.Have > 0 {
			since = "has not been read for " + c.sp.Display.Duration(c.r.Have)
		}
		return fmt.Sprintf("the air %s; nothing starts, and after %s the fallback takes over",
			since, c.sp.Display.Duration(c.r.Need))
	}
	return undecided
}

// undecided stands for no reason, and for one outside the list.
const undecided = "not decided yet"

// assumed marks figures that rest on an assumed exchange.
func (c *clause) assumed() string {
	if c.r.Learned {
		return ""
	}
	return " (exchange not learned yet)"
}

// running renders why fans run under the everyday rules.
func (c *clause) running() string {
	switch c.r.Code {
	case decide.ActionDue, decide.ActionTopUp:
		return fmt.Sprintf("%s by the calendar, %s left", c.action(), c.sp.Display.Duration(c.r.Have))
	case decide.DischargePays:
		return "bringing heat up" + c.both() + c.money() + c.assumed()
	case decide.DischargeRatio:
		return "bringing heat up" + c.both() + c.ratio() + c.assumed()
	case decide.DischargeProtect:
		return fmt.Sprintf("bringing heat up for the crop: house %s, setpoint %s, soil %s",
			c.temp(c.r.Have), c.set(c.r.Need), c.soil())
	case decide.ChargePays:
		return "taking heat down" + c.both() + c.money() + c.assumed()
	case decide.ChargeRatio:
		return "taking heat down" + c.both() + c.ratio() + c.assumed()
	case decide.DryDamp:
		return fmt.Sprintf("drying the air: humidity %s over %s, soil %s",
			c.sp.Display.Share(c.r.Have), c.sp.Display.Share(c.r.Need), c.soil())
	}
	return fmt.Sprintf("finishing the minimum run, %s of %s",
		c.sp.Display.Duration(c.r.Have), c.sp.Display.Duration(c.r.Need))
}

// notDischarging renders why heat stays in the soil.
func (c *clause) notDischarging() string {
	switch c.r.Code {
	case decide.FrostNoHelp:
		return fmt.Sprintf("the crop is at its frost limit, but the soil at %s cannot help the house at %s",
			c.soil(), c.air())
	case decide.SoilLost:
		return "the soil cannot be read; only frost protection runs"
	case decide.AirDoubtful:
		return "the air reading is doubtful; nothing starts on it"
	case decide.DischargeNotAllowed:
		return "this window does not allow bringing heat up"
	case decide.AboveSetpoint:
		return fmt.Sprintf("house %s is warm enough; no heat is brought up over %s", c.temp(c.r.Have), c.set(c.r.Need))
	case decide.GainUnmet:
		return fmt.Sprintf("soil %s, house %s: bringing heat up takes %s between them",
			c.soil(), c.air(), c.diff(c.r.Need))
	case decide.SoilAtFloor:
		return fmt.Sprintf("the root soil at %s is at its floor of %s", c.temp(c.r.Have), c.set(c.r.Need))
	case decide.VentOpen:
		return "a vent is open, heat brought up would leave by it"
	case decide.HeatNotNeeded:
		return "the heater would not run, so heat brought up saves no fuel" + c.both()
	case decide.NoUseForHeat:
		return "neither crop nor heater needs the heat"
	}
	return c.unpaid("bringing heat up")
}

// notCharging renders why no heat is stored.
func (c *clause) notCharging() string {
	switch c.r.Code {
	case decide.ChargeNotAllowed:
		return "this window does not allow storing heat"
	case decide.MarginUnmet:
		return fmt.Sprintf("house %s, soil %s: storing heat takes %s between them",
			c.air(), c.soil(), c.diff(c.r.Need))
	case decide.AtChargeFloor:
		return fmt.Sprintf("house %s: heat is taken only above %s", c.temp(c.r.Have), c.set(c.r.Need))
	case decide.HeaterOn:
		return "the heater runs, its heat is not to be stored"
	case decide.HeaterRecent:
		return fmt.Sprintf("the heater ran a short while ago; storing waits another %s",
			c.sp.Display.Duration(c.r.Have))
	case decide.SoilAtCap:
		return fmt.Sprintf("the soil at %s is warm enough; nothing is stored from %s up", c.temp(c.r.Have), c.set(c.r.Need))
	case decide.NoWorthYet:
		return "stored heat is worth nothing in this month" + c.both()
	}
	return c.unpaid("storing heat")
}

// unpaid renders a comparison that the fan lost.
func (c *clause) unpaid(what string) string {
	if c.r.Code == decide.DischargeLowRatio || c.r.Code == decide.ChargeLowRatio {
		return fmt.Sprintf("%s does not pay: %s kWh of heat for a kWh of electricity, %s kWh is needed",
			what, number(c.r.Have), number(c.r.Need))
	}
	return fmt.Sprintf("%s does not pay: worth %s, %s is needed", what, c.perHour(c.r.Have), c.perHour(c.r.Need))
}

// waiting renders why a wanted fan does not run yet.
func (c *clause) waiting() string {
	have := c.sp.Display.Duration(c.r.Have)
	switch c.r.Code {
	case decide.WaitRest:
		return "wanted, but at its minimum rest, " + have + " of " + c.sp.Display.Duration(c.r.Need)
	case decide.WaitStarts:
		return "wanted, but started often enough; may start again in " + have
	case decide.WaitStagger:
		return "wanted; another fan has just started, this one follows in " + have
	case decide.WaitPower:
		return fmt.Sprintf("wanted, but only %s of its %s are free",
			c.sp.Display.Power(max(0, c.r.Have)), c.sp.Display.Power(c.r.Need))
	case decide.WaitGrant:
		return "wanted; another house starts first"
	case decide.WaitFault:
		if c.r.Have > 0 {
			return "wanted, but the fan does not start; tried again in " + have
		}
		return "wanted, but the fan does not start"
	}
	return undecided
}

// both renders the two temperatures, where they are known.
func (c *clause) both() string {
	switch {
	case c.r.HasAir && c.r.HasSoil:
		return ": house " + c.air() + ", soil " + c.soil()
	case c.r.HasAir:
		return ": house " + c.air()
	}
	return ""
}

func (c *clause) air() string  { return known(c.r.HasAir, c.sp.Display.Temperature(c.r.Air)) }
func (c *clause) soil() string { return known(c.r.HasSoil, c.sp.Display.Temperature(c.r.Soil)) }

func known(ok bool, text string) string {
	if !ok {
		return "not known"
	}
	return text
}

func (c *clause) temp(v float64) string { return c.sp.Display.Temperature(unit.Celsius(v)) }
func (c *clause) set(v float64) string  { return c.sp.Display.Setting(unit.Celsius(v)) }
func (c *clause) diff(v float64) string { return c.sp.Display.Difference(unit.Kelvin(v)) }

// left renders how long a hand order holds.
func (c *clause) left() string {
	if c.r.Have > 0 {
		return c.sp.Display.Duration(c.r.Have) + " left"
	}
	return "until given back"
}

func (c *clause) money() string {
	return fmt.Sprintf("; worth %s, %s is enough", c.perHour(c.r.Have), c.perHour(c.r.Need))
}

func (c *clause) ratio() string {
	return fmt.Sprintf("; %s kWh of heat for a kWh of electricity, %s kWh is enough",
		number(c.r.Have), number(c.r.Need))
}

// perHour renders money per hour: "0.42 $/h".
func (c *clause) perHour(v float64) string {
	currency := c.sp.Currency
	if currency == "" {
		currency = "money"
	}
	return unit.Number(v, 3) + " " + currency + "/h"
}

func number(v float64) string { return unit.Number(v, 1) }

func (c *clause) action() string {
	if i := int(c.r.Need); i >= 0 && i < len(c.s.Actions) {
		return c.s.Actions[i].Name
	}
	return "action"
}
