package place_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/fault"
	"shortday/knowledge/place"
)

func TestParse(t *testing.T) {
	t.Parallel()
	london := place.Point{Lat: 51.507222, Lon: -0.1275}
	for text, want := range map[string]place.Point{
		"39.7,-105":                         {Lat: 39.7, Lon: -105},
		"39.7 -105":                         {Lat: 39.7, Lon: -105},
		" 39.7 ,  -105 ":                    {Lat: 39.7, Lon: -105},
		"39.7;-105":                         {Lat: 39.7, Lon: -105},
		"-33.9, +151.2":                     {Lat: -33.9, Lon: 151.2},
		"39,105":                            {Lat: 39, Lon: 105},
		"51.5N 0.1W":                        {Lat: 51.5, Lon: -0.1},
		"51.5 n, 0.1 w":                     {Lat: 51.5, Lon: -0.1},
		"0.1W 51.5N":                        {Lat: 51.5, Lon: -0.1},
		"N51.5 W0.1":                        {Lat: 51.5, Lon: -0.1},
		"51.5N -0.1":                        {Lat: 51.5, Lon: -0.1},
		"33.9 South 151.2 East":             {Lat: -33.9, Lon: 151.2},
		`51°30'26"N 0°7'39"W`:               london,
		"51°30′26″N, 0°7′39″W":              london,
		"51°30’26”N 0°7’39”W":               london,
		"51°30'26''N 0°7'39''W":             london,
		"N 51°30'26\" W 0°7'39\"":           london,
		"51 30 26 N 0 7 39 W":               london,
		"51 30 26 0 7 39":                   {Lat: 51.507222, Lon: 0.1275},
		"51 30 N, 0 7 W":                    {Lat: 51.5, Lon: -0.116667},
		"51 30 N,0 7 W":                     {Lat: 51.5, Lon: -0.116667},
		"51°30.5'N 0°7.25'W":                {Lat: 51.508333, Lon: -0.120833},
		"51 30.5 -0 7.25":                   {Lat: 51.508333, Lon: -0.120833},
		"51° 30' 0° 7'":                     {Lat: 51.5, Lon: 0.116667},
		"−33.9 −70.6":                       {Lat: -33.9, Lon: -70.6},
		"51,5; 0,1":                         {Lat: 51.5, Lon: 0.1},
		"51,5 -0,1":                         {Lat: 51.5, Lon: -0.1},
		"51,5, -0,1":                        {Lat: 51.5, Lon: -0.1},
		"51,5N 0,1W":                        {Lat: 51.5, Lon: -0.1},
		"51 30 26,5 N 0 7 39,5 W":           {Lat: 51.507361, Lon: -0.127639},
		"0,0":                               {},
		"90,180":                            {Lat: 90, Lon: 180},
		"-90,-180":                          {Lat: -90, Lon: -180},
		"-65 0":                             {Lat: -65},
		"0°0'36\"S 0°0'0\"W":                {Lat: -0.01},
		"51º30’N\u00a00˚7’W":                {Lat: 51.5, Lon: -0.116667},
		"39.7392358219873, -104.9902512345": {Lat: 39.739236, Lon: -104.990251},
	} {
		got, err := place.Parse(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
}

// A refusal is one sentence with the next step.
func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for text, says := range map[string]string{
		"":                       "write it like",
		"London":                 "write it like",
		"51.5":                   "write it like",
		"51.5 0.1 7":             "write it like",
		"39,7,105,2":             "write it like",
		"5,5,1 N":                "write it like",
		"51 30,0 7":              "write it like",
		"51'30 0'7":              "write it like",
		"--5 4":                  "write it like",
		", 5 4":                  "write it like",
		"51.5N":                  "write it like",
		"N W 5 4":                "write it like",
		"51.5N 0.1N":             "one east or west",
		"105W 39E":               "one value north or south",
		"-105, 39.7":             "write 39.7,-105",
		"91, 100":                "from -90 to 90",
		"200, 10":                "from -90 to 90",
		"45, 181":                "from -180 to 180",
		"45, -180.1":             "from -180 to 180",
		"-33.9S 151E":            "write -33.9 or 33.9S",
		"51 60 N 0 7 W":          "decimal degrees",
		"51.5 30 N 0 7 W":        "leave one of them out",
		strings.Repeat("9", 400): "…",
	} {
		_, err := place.Parse(text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
		require.ErrorContains(t, err, says, text)
	}
}

func TestPointReadsBack(t *testing.T) {
	t.Parallel()
	require.Equal(t, "51.5,-0.1", place.Point{Lat: 51.5, Lon: -0.1}.String())
	require.Equal(t, "0,0", place.Point{Lat: -1e-9}.String())
	rapid.Check(t, func(t *rapid.T) {
		p := place.Point{
			Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"),
			Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
		}
		read, err := place.Parse(p.String())
		require.NoError(t, err)
		require.InDelta(t, p.Lat, read.Lat, 1e-6)
		require.InDelta(t, p.Lon, read.Lon, 1e-6)
		require.Equal(t, p.String(), read.String())
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"39.7,-105", `51°30'26"N 0°7'39"W`, "51 30 N, 0 7 W", "51,5; 0,1", "N51.5 W0.1", "−33,9 151", "'°", "-0 7"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := place.Parse(text)
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		read, err := place.Parse(p.String())
		require.NoError(t, err)
		require.Equal(t, p, read)
	})
}
