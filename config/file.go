package config

// File is the file as written. A key that is absent has its zero value; Build puts in the
// defaults, which stand in defaults.go.
type File struct {
	// Units is what people are shown, "us" or "si"; default "si". Every quantity in the file
	// carries its own unit, whichever is chosen here.
	Units string `koanf:"units"`
	// Zone is the farm's time zone by its IANA name, "America/New_York". Required: windows,
	// prices and the sun are in local time.
	Zone string `koanf:"zone"`
	// Tick is how often everything is read and decided; 1 s to 15 min, default 10 s. Interlocks
	// want it short.
	Tick Duration `koanf:"tick"`
	// Listen is the address of page and metrics, default "127.0.0.1:9798": only this board,
	// because nothing on the page asks for a password.
	Listen string `koanf:"listen"`
	// StateDir is the folder of ledger, history and journal, default "/var/lib/loambank".
	StateDir string `koanf:"state_dir"`
	// HandUsers are the names that may give orders by hand over the network: users or client
	// certificates of the file that `run --web-config` names. Default none: orders are given at
	// the board.
	HandUsers []string `koanf:"hand_users"`

	Site   SiteTable   `koanf:"site"`
	Season SeasonTable `koanf:"season"`
	Prices PricesTable `koanf:"prices"`
	Costs  CostsTable  `koanf:"costs"`
	Alarm  AlarmTable  `koanf:"alarm"`
	// Publish is a broker that is to know how the houses are; default none.
	Publish *PublishTable          `koanf:"publish"`
	Crops   map[string]Temperature `koanf:"crops"` // a farm's own crops: name = lowest temperature borne
	House   []HouseTable           `koanf:"house"`
	Action  []ActionTable          `koanf:"action"`
}

// SiteTable is where the farm lies and what its supply can carry.
type SiteTable struct {
	Latitude  *float64 `koanf:"latitude"`  // degrees, north positive; -90 to 90; required for the sun
	Longitude *float64 `koanf:"longitude"` // degrees, east positive; -180 to 180; required
	Elevation Length   `koanf:"elevation"` // over the sea; -500 to 6000 m; default 0; thins the air
	// ColdNight is the low of a night that one in ten is colder than, in the coldest month; -60 to 40 °C,
	// default not stated. It is expected where nothing better is known of tonight.
	ColdNight Temperature `koanf:"cold_night"`
	// MaxPower is what all fans together may draw, 10 W to 1 MW; default no limit.
	MaxPower Power `koanf:"max_power"`
	// GeneratorPower is the same while an on-generator probe says so; default no other limit.
	GeneratorPower Power `koanf:"generator_power"`
	// WaterTable is the highest that ground water stands under the surface; 0 to 50 m, default not
	// known. Radon says that the region is known for it. Both speak only where a store is sized.
	WaterTable Length `koanf:"water_table"`
	Radon      bool   `koanf:"radon"`
}

// SeasonTable is the turn of the year at this site, each as "MM-DD"; all required. The grower
// knows the frosts; the worth of stored heat rises from the first date to the second and falls
// to the third.
type SeasonTable struct {
	ToppingUp  string `koanf:"topping_up"`  // when heat put into the soil begins to be worth something
	FirstFrost string `koanf:"first_frost"` // first frost of autumn: the cold months begin
	LastFrost  string `koanf:"last_frost"`  // last frost of spring: the cold months end
}

// PricesTable is what energy costs. Without prices a minimum ratio of heat to electricity stands in.
type PricesTable struct {
	Currency    string    `koanf:"currency"`    // three letters, "USD"; required with any price
	Electricity Price     `koanf:"electricity"` // base price per kWh
	Fuel        FuelTable `koanf:"fuel"`        // what the heater burns
	// Stored is the worth of a stored kWh in each month, January first; twelve prices per kWh.
	// Default: the season's shape times StoredShare of the fuel's heat price.
	Stored []Price `koanf:"stored"`
	// StoredShare is the worth of a stored kWh at the first frost as a share of the fuel's heat
	// price; 0 to 100 %, default 30 %, the part that comes back when it is needed.
	StoredShare Share `koanf:"stored_share"`
	// WorthBand is how far over its cost running must pay to start; 1 to 3, default 1.2.
	WorthBand *float64 `koanf:"worth_band"`
	// MinRatio is the heat a kWh of fan electricity must move where prices are missing, kWh per
	// kWh; 0.5 to 50, default 3.
	MinRatio *float64      `koanf:"min_ratio"`
	Period   []PeriodTable `koanf:"period"` // the first that covers wins
}

// FuelTable is the heater's fuel.
type FuelTable struct {
	Kind       string `koanf:"kind"`       // "propane", "heating oil", …
	Price      Price  `koanf:"price"`      // per the unit it is sold in, "2.90 $/gal"
	Efficiency Share  `koanf:"efficiency"` // heat in the house per heat in the fuel; 20 to 100 %, default 80 %
}

// PeriodTable is a time of another electricity price.
type PeriodTable struct {
	Name        string `koanf:"name"`        // required, unique
	Dates       string `koanf:"dates"`       // "MM-DD..MM-DD"; default all year
	Hours       string `koanf:"hours"`       // "16:00..21:00"; default all day
	Days        string `koanf:"days"`        // "Mon..Fri"; default every day
	Electricity Price  `koanf:"electricity"` // required
}

// ActionTable is something due by the calendar.
type ActionTable struct {
	Name string   `koanf:"name"` // required, unique
	Cron string   `koanf:"cron"` // five fields in the farm's zone, "0 13 * * SUN"; required
	Kind string   `koanf:"kind"` // "exercise" (default: bearings stay free) or "top-up" (heat, needs margin and cap)
	Run  Duration `koanf:"run"`  // how long; 10 s to 12 h, default 2 min
	// House and Store name the one it is for; default every house, every store.
	House string `koanf:"house"`
	Store string `koanf:"store"`
}
