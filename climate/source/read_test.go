package source

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"budswell/climate"

	"github.com/google/go-cmp/cmp"
)

// sameDays is one station's days in every form that is read; the values were
// made up for this test of forms.
var sameDays = map[string]string{
	"plain.csv": "date,tmin,tmax,prcp\n2001-02-27,-3.2,4.1,0\n2001-02-28,-1,,2.5\n2001-03-02,0.5,9,\n",
	"turned.csv": "prcp_mm;Max Temp (°C);site;date;Min Temp (°C)\n0;4,1;a;2001-02-27;-3,2\n" +
		";9;a;2001-03-02;0,5\n2,5;NA;a;2001-02-28;-1\n",
	"fahrenheit.csv": "\ufeffdate,tmin_f,tmax_f,prcp_in\r\n2001-02-27,26.24,39.38,T\r\n2001-02-28,30.2,,0.0984251968503937\r\n2001-03-02,32.9,48.2,\r\n",
	"access.csv": `"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"
"XXE00000001","2001-02-27","47","8","400","NOWHERE, XX","0","T,,E","41",",,E","-32",",,E"
"XXE00000001","2001-02-28","47","8","400","NOWHERE, XX","25",",,E","520",",X,E","-10",",,E"
"XXE00000001","2001-03-02","47","8","400","NOWHERE, XX",,,"90",",,E","5",",,E"
`,
	"long.csv": `XXE00000001,20010227,TMAX,41,,,E,
XXE00000001,20010227,TMIN,-32,,,E,0700
XXE00000001,20010227,PRCP,0,T,,E,
XXE00000001,20010228,TMAX,520,,X,E,
XXE00000001,20010228,TMIN,-10,,,E,
XXE00000001,20010228,PRCP,25,,,E,
XXE00000001,20010302,TMAX,90,,,E,
XXE00000001,20010302,TMIN,5,,,E,
XXE00000001,20010302,SNWD,7,,,E,
`,
	"station.dly": dlyLine("XXE00000001", "200102", "TMAX", map[int]string{27: "   41  E", 28: "  520 XE"}) +
		dlyLine("XXE00000001", "200102", "TMIN", map[int]string{27: "  -32  E", 28: "  -10  E"}) +
		dlyLine("XXE00000001", "200102", "PRCP", map[int]string{27: "    0T E", 28: "   25  E"}) +
		dlyLine("XXE00000001", "200103", "TMAX", map[int]string{2: "   90  E"}) +
		dlyLine("XXE00000001", "200103", "TMIN", map[int]string{2: "    5  E"}) +
		dlyLine("XXE00000001", "200103", "WT01", map[int]string{2: "    1  E"}),
}

func dlyLine(id, month, element string, days map[int]string) string {
	var b strings.Builder
	b.WriteString(id + month + element)
	for d := 1; d <= 31; d++ {
		if v, ok := days[d]; ok {
			b.WriteString(v)
		} else {
			b.WriteString("-9999   ")
		}
	}
	return b.String() + "\n"
}

func TestFormsAgree(t *testing.T) {
	const m = climate.Measured
	want := []climate.Day{
		{Tmin: -3.2, Tmax: 4.1, TminOrigin: m, TmaxOrigin: m, PrcpOrigin: m},
		{Tmin: -1, Prcp: 2.5, TminOrigin: m, PrcpOrigin: m},
		{},
		{Tmin: 0.5, Tmax: 9, TminOrigin: m, TmaxOrigin: m},
	}
	near := cmp.Comparer(func(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 })
	for name, text := range sameDays {
		t.Run(name, func(t *testing.T) {
			r, err := Read(name, strings.NewReader(text))
			if err != nil {
				t.Fatal(err)
			}
			if r.First != climate.NewDate(2001, 2, 27) {
				t.Errorf("first day %v", r.First)
			}
			if d := cmp.Diff(want, r.Days, near); d != "" {
				t.Error(d)
			}
			flagged := strings.Contains(text, "520")
			if flagged != (len(r.Notes) == 1) {
				t.Errorf("notes %q", r.Notes)
			}
		})
	}
}

func TestInFahrenheit(t *testing.T) {
	r, err := Read("x.csv", strings.NewReader("date,tmin,tmax\n2001-07-01,50,95\n"), InFahrenheit())
	if err != nil {
		t.Fatal(err)
	}
	if d := r.At(r.First); d.Tmin != 10 || d.Tmax != 35 {
		t.Errorf("read %v", d)
	}
}

func TestContradictionInGHCN(t *testing.T) {
	text := "XXE00000001,20010227,TMAX,41,,,E,\nXXE00000001,20010227,TMIN,52,,,E,\nXXE00000001,20010228,TMAX,41,,,E,\n"
	r, err := Read("x.csv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if d := r.At(climate.NewDate(2001, 2, 27)); d.TminOrigin != climate.Missing || d.TmaxOrigin != climate.Missing {
		t.Errorf("kept %v", d)
	}
	if want := "1 days left out whose minimum was above the maximum"; len(r.Notes) != 1 || r.Notes[0] != want {
		t.Errorf("notes %q, want %q", r.Notes, want)
	}
}

func TestErrors(t *testing.T) {
	fahrenheit := "date,tmin,tmax\n"
	tenths := "STATION,DATE,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
	for i := range 300 {
		d := climate.NewDate(2001, 1, 1) + climate.Date(i)
		fahrenheit += fmt.Sprintf("%v,%d,%d\n", d, 40+i%10, 50+i%10)
		tenths += fmt.Sprintf("XXE00000001,%v,%d,\",,E\",%d,\",,E\"\n", d, 50+i%50, 30+i%50)
	}
	dly := dlyLine("XXE00000001", "200102", "TMAX", map[int]string{27: "   41  E"})
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", `x:1: want a header`},
		{"header only", "date,tmin,tmax\n", `x: tmin: want at least one value`},
		{"no values", "date,tmin,tmax\n2001-01-01,,\n", `x: tmin: want at least one value`},
		{"no header", "2001-01-01,1,2\n", `x:1: header "2001-01-01,1,2": want a header with date, tmin, tmax`},
		{"two minima", "date,tmin,tmin_c,tmax\n", `x:1: header "tmin_c": want one column of tmin`},
		{"rain in degrees", "date,tmin,tmax,prcp_c\n", `x:1: header "prcp_c": want temperatures in C or F, precipitation in mm or in`},
		{"high", "date,tmin,tmax\n2001-01-01,1,61\n", `x:2: tmax "61": want -90 to 60 C: if the file has degrees Fahrenheit`},
		{"tenths", "date,tmin,tmax\n2001-01-01,1,161\n", `x:2: tmax "161": want -90 to 60 C: are these tenths of a degree?`},
		{"low", "date,tmin,tmax\n2001-01-01,-91,6\n", `x:2: tmin "-91": want -90 to 60 C`},
		{"rain", "date,tmin,tmax,prcp\n2001-01-01,1,2,-3\n", `x:2: prcp "-3": want 0 to 2000 mm`},
		{"infinite", "date,tmin,tmax\n2001-01-01,1,Inf\n", `x:2: tmax "Inf": want a number`},
		{"word", "date,tmin,tmax\n2001-01-01,1,warm\n", `x:2: tmax "warm": want a number`},
		{"crossed", "date,tmin,tmax\n2001-01-01,1,2\n2001-01-02,5,3\n", `x:3: tmin "5": want no more than that day's tmax of 3`},
		{"twice", "date,tmin,tmax\n2001-01-01,1,2\n2001-01-01,1,2\n", `x:3: date "2001-01-01": want each day once; line 2 has it too`},
		{"no such day", "date,tmin,tmax\n2001-02-29,1,2\n", `x:2: date "2001-02-29": want a day that exists`},
		{"American date", "date,tmin,tmax\n02/27/2001,1,2\n", `x:2: date "02/27/2001": want a day that exists, written YYYY-MM-DD`},
		{"long ago", "date,tmin,tmax\n1066-10-14,1,2\n", `x:2: date "1066-10-14": want a day that exists, written YYYY-MM-DD, from 1700 to 2300`},
		{"cut off", "date,tmin,tmax\n2001-01-01,1,2\n2001-01-02,1\n", `x:3 "2001-01-02,1": want 3 fields as in the header: is the file cut off?`},
		{"span", "date,tmin,tmax\n1700-01-01,1,2\n2299-01-02,1,2\n", `x: date "1700-01-01 to 2299-01-02": want a span of 300 years at most`},
		{"NUL", "date,tmin,tmax\n2001-01-01,\x00,2\n", "x:2 \"\\x00\": want a text file without NUL bytes"},
		{"quote", "date,tmin,tmax\n2001-01-01,\"1,2\n", `x:2: want separated fields with quotes that close`},
		{"Fahrenheit", fahrenheit, `x: tmin "45.0": want a median below 35 C: if these are degrees Fahrenheit, name the column tmin_f`},
		{"whole degrees", tenths, `x: TMIN, TMAX "30 to 99": want tenths of a degree C: these look like whole degrees`},
		{"two stations", "XXE00000001,20010227,TMAX,41,,,E,\nXXE00000002,20010228,TMAX,41,,,E,\n", `x:2: station "XXE00000002": want one station a file`},
		{"long cut off", "XXE00000001,20010227,TMAX,41,,,E,\nXXE00000001,2001\n", `x:2 "XXE00000001,2001": want 8 fields`},
		{"long date", "XXE00000001,20010227,TMAX,41,,,E,\nXXE00000001,20010229,TMAX,41,,,E,\n", `x:2: DATE "20010229": want a day that exists, written YYYYMMDD`},
		{"long twice", "XXE00000001,20010227,TMAX,41,,,E,\nXXE00000001,20010227,TMAX,42,,,E,\n", `x:2: date "2001-02-27": want one value of TMAX a day; line 1 has that day too`},
		{"long decimal", "XXE00000001,20010227,TMAX,4.1,,,E,\n", `x:1: TMAX "4.1": want a whole number of tenths of a C, or -9999`},
		{"long range", "XXE00000001,20010227,TMAX,999,,,E,\n", `x:1: TMAX "999": want -90 to 60 C in tenths`},
		{"long, none passed", "XXE00000001,20010227,TMAX,41,,I,E,\n", `x: want values of TMIN and TMAX that passed their quality checks`},
		{"dly cut off", dly + dly[:100] + "\n", `x:2 "` + dly[:60] + `...": want 269 columns: is the file cut off?`},
		{"dly month", dly + strings.Replace(dly, "200102", "200113", 1), `x:2: year and month "200113": want YYYYMM`},
		{"dly day", strings.Replace(dly, "-9999   \n", "   12  E\n", 1), `x:1: TMAX on day 31 "12": want -9999 on days that the month does not have`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Read("x", strings.NewReader(tt.text))
			if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
				t.Errorf("error %v\nwant  %s", err, tt.want)
			}
		})
	}
}

func TestSizeIsBounded(t *testing.T) {
	endless := readerFunc(func(p []byte) (int, error) { return copy(p, bytes.Repeat([]byte("x"), len(p))), nil })
	if _, err := Read("x", endless); err == nil || !strings.Contains(err.Error(), "64 MB at most") {
		t.Errorf("error %v", err)
	}
}

type readerFunc func([]byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }

// harvard returns the path of the daily weather of Harvard Forest.
func harvard(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("BUDSWELL_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	p := filepath.Join(dir, "harvard-forest", "daily.csv")
	if _, err := os.Stat(p); err != nil {
		t.Skip("harvard-forest/daily.csv is not here (set BUDSWELL_DATA): " +
			"Boose E., Gould E., Shaler Meteorological Station at Harvard Forest 1964-2002, Harvard Forest Data Archive HF000")
	}
	return p
}

// TestHarvardForest checks against the counts that were published with the file.
func TestHarvardForest(t *testing.T) {
	r, err := ReadFile(harvard(t))
	if err != nil {
		t.Fatal(err)
	}
	if r.First != climate.NewDate(1964, 1, 1) || r.Last() != climate.NewDate(2002, 6, 30) || len(r.Days) != 14061 {
		t.Errorf("%d days from %v to %v", len(r.Days), r.First, r.Last())
	}
	var lo, hi, both, wet int
	for _, d := range r.Days {
		noLo, noHi := d.TminOrigin == climate.Missing, d.TmaxOrigin == climate.Missing
		if noLo {
			lo++
		}
		if noHi {
			hi++
		}
		if noLo && noHi {
			both++
		}
		if d.PrcpOrigin == climate.Missing {
			wet++
		}
	}
	if got, want := [4]int{lo, hi, both, wet}, [4]int{384, 288, 183, 148}; got != want {
		t.Errorf("missing tmin, tmax, both, precipitation: %v, want %v", got, want)
	}
}

func BenchmarkReadHarvardForest(b *testing.B) {
	data, err := os.ReadFile(harvard(b))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Read("daily.csv", bytes.NewReader(data)); err != nil {
			b.Fatal(err)
		}
	}
}
