package recording

// stamp is a time as written.
type stamp struct {
	civil  int64 // seconds from 1970-01-01 00:00 to the written date and time, as if in UTC
	nano   int64 // and nanoseconds
	zoned  bool  // an offset is written
	offset int64 // east of UTC, s
}

// parseStamp reads 2006-01-02T15:04, with or without seconds, a fraction of them and an offset
// (Z or ±15:04). A space may stand for the T.
func parseStamp(s string) (t stamp, ok bool) {
	if len(s) < 16 || s[4] != '-' || s[7] != '-' || s[10] != 'T' && s[10] != ' ' || s[13] != ':' {
		return t, false
	}
	year := digits(s[0:2])*100 + digits(s[2:4])
	month, day := digits(s[5:7]), digits(s[8:10])
	hour, minute := digits(s[11:13]), digits(s[14:16])
	if digits(s[0:2]) < 0 || digits(s[2:4]) < 0 || month < 1 || month > 12 || day < 1 || day > monthDays(year, month) ||
		hour < 0 || hour > 23 || minute < 0 || minute > 59 {
		return t, false
	}
	t.civil = civilDays(year, month, day)*86400 + hour*3600 + minute*60
	s = s[16:]
	if len(s) >= 3 && s[0] == ':' {
		second := digits(s[1:3])
		if second < 0 || second > 59 {
			return t, false
		}
		t.civil += second
		if t.nano, s, ok = fraction(s[3:]); !ok {
			return t, false
		}
	}
	if s == "" {
		return t, true
	}
	t.zoned = true
	t.offset, ok = offset(s)
	return t, ok
}

// digits returns the number that two digits write, or a number below 0.
func digits(s string) int64 {
	a, b := s[0]-'0', s[1]-'0'
	if a > 9 || b > 9 {
		return -1 << 16
	}
	return int64(a)*10 + int64(b)
}

// fraction takes a point and one to nine digits off the front, if there is a point.
func fraction(s string) (nano int64, rest string, ok bool) {
	if s == "" || s[0] != '.' {
		return 0, s, true
	}
	scale := int64(1e9)
	for s = s[1:]; s != "" && s[0]-'0' <= 9; s = s[1:] {
		if scale /= 10; scale == 0 {
			return 0, s, false
		}
		nano += int64(s[0]-'0') * scale
	}
	return nano, s, scale < 1e9
}

func offset(s string) (int64, bool) {
	if s == "Z" {
		return 0, true
	}
	if len(s) != 6 || s[0] != '+' && s[0] != '-' || s[3] != ':' {
		return 0, false
	}
	h, m := digits(s[1:3]), digits(s[4:6])
	if h < 0 || h > 23 || m < 0 || m > 59 {
		return 0, false
	}
	if s[0] == '-' {
		return -h*3600 - m*60, true
	}
	return h*3600 + m*60, true
}

func monthDays(year, month int64) int64 {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// civilDays counts the days from 1970-01-01 to a date of the Gregorian calendar, which is carried
// on before its start as ISO 8601 does. The year begins with March here, so that the leap day is
// its last.
func civilDays(year, month, day int64) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	// 153 days in each five months from March: 31, 30, 31, 30, 31. Year -1 is January of year 0.
	year += 400
	return 365*year + year/4 - year/100 + year/400 + (153*(month-3)+2)/5 + day - 1 - 719468 - 146097
}
