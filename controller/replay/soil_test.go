package replay_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// TestSoilIsTheRecord compares the soil between the pipes with the record it was cut from: the
// daily mean at 50 cm from 22 June 2011 to the end of August 2012, ten years later by the calendar.
func TestSoilIsTheRecord(t *testing.T) {
	f, err := os.Open(filepath.Join(testdata, "soil", "USCRN_IN_Bedford_5_WNW_daily.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	record, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	date, soil := -1, -1
	for i, header := range record[0] {
		switch header {
		case "LST_DATE":
			date = i
		case "SOIL_TEMP_50_DAILY":
			soil = i
		}
	}
	if date < 0 || soil < 0 {
		t.Fatalf("headers %v lack date or soil", record[0])
	}
	want := map[string]string{} // by the day ten years later
	for _, row := range record[1:] {
		day, err := time.Parse("20060102", row[date])
		if err != nil {
			t.Fatal(err)
		}
		if leap := day.Month() == time.February && day.Day() == 29; leap || row[date] < "20110622" || row[date] > "20120831" {
			continue
		}
		want[day.AddDate(10, 0, 0).Format("2006-01-02T15:04:05")] = row[soil]
	}
	rows := table(t, "winter", "soil_50cm.csv")
	missing := 0
	for _, row := range rows {
		text, ok := want[row[0]]
		delete(want, row[0])
		v, err := strconv.ParseFloat(text, 64)
		switch {
		case !ok || err != nil:
			t.Errorf("%s is not in the record", row[0])
		case v == -9999:
			missing++
			if row[1] != "" {
				t.Errorf("%s holds %q, the record nothing", row[0], row[1])
			}
		default:
			if got, err := strconv.ParseFloat(row[1], 64); err != nil || got != v {
				t.Errorf("%s holds %q, the record %s", row[0], row[1], text)
			}
		}
	}
	for day := range want {
		t.Errorf("%s is in the record but not in the soil", day)
	}
	t.Logf("%d days, %d of them missing", len(rows), missing)
}
