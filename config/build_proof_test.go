package config

import (
	"math"
	"testing"

	"loambank/controller/decide"
)

func TestAProbeGivesFansTheirProof(t *testing.T) {
	const fan, soil = `flow = "1.3 m3/s" } ]`, `path = "soil" } ]`
	two := `flow = "1.3 m3/s" }, { name = "west", driver = "file", path = "fan2", power = "600 W", flow = "1.3 m3/s", proof = "1 min" } ]`
	for _, c := range []struct {
		name, probe string
		want        [2]float64
	}{
		{"none watches", "", [2]float64{0, 60}},
		{"a meter for all fans", `{ role = "fan-power", driver = "file", path = "w" }`, [2]float64{30, 60}},
		{"a contact of the one", `{ role = "airflow-proof", fan = "east", driver = "file", path = "w" }`, [2]float64{30, 60}},
		{"a contact of the other", `{ role = "airflow-proof", fan = "west", driver = "file", path = "w" }`, [2]float64{0, 60}},
		{"a probe that proves nothing", `{ role = "duct-in", driver = "file", path = "w" }`, [2]float64{0, 60}},
	} {
		t.Run(c.name, func(t *testing.T) {
			fans := parse(t, fan, two, soil, `path = "soil" }, `+c.probe+` ]`).Houses[0].House.Decide.Stores[0].Fans
			if got := [2]float64{fans[0].ProofS, fans[1].ProofS}; got != c.want {
				t.Errorf("proof within %v s, want %v", got, c.want)
			}
		})
	}
}

func TestAFansBackupThermostat(t *testing.T) {
	const power = `power = "600 W"`
	fan := func(keys string) decide.Fan {
		return parse(t, power, power+keys).Houses[0].House.Decide.Stores[0].Fans[0]
	}
	if f := fan(`, backup_thermostat = "0 °C"`); !f.Backup || f.BackupAt != 0 {
		t.Errorf("stated: %v, at %v; want one at 0 °C", f.Backup, f.BackupAt)
	}
	if f := fan(`, backup_thermostat = "14 °F"`); !f.Backup || math.Abs(float64(f.BackupAt)+10) > 1e-9 {
		t.Errorf("stated: %v, at %v; want one at -10 °C", f.Backup, f.BackupAt)
	}
	if f := fan(""); f.Backup {
		t.Error("not stated: there is one")
	}
}
