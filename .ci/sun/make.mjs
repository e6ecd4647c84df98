// Writes climate/testdata/sun.csv on standard output: sunrise, solar noon and
// sunset of every day of 2026 at eleven places, computed by the npm package
// astronomy-engine, which shares nothing with climate/sun.go.
//
// The day is the solar day: from one lower culmination of the sun to the next,
// about the noon nearest to 12 h mean solar time of the date. An event is the
// sun's centre passing -0.833 degrees. `hours` is how long it stands above that,
// so 24 on a polar day and 0 in polar night. Times are hours from 00:00 UTC of
// the date (they may be negative or above 24); empty where there is no event.
import * as A from 'astronomy-engine'

const year = 2026
const altitude = -0.833
const places = [
  // latitude, longitude: the latitudes of the check, spread around the world
  [0, 0], [35, 139.5], [-35, 149], [50, 8.5], [60, -150], [66, 25], [70, -156],
  // and where days are strangest
  [-66, -60], [-70, 179.9], [67.5, -179.9], [89, 10],
]

const hour = 3600e3
const fixed = (h) => (h === null ? '' : h.toFixed(4))

console.log('lat,lon,date,rise,noon,set,hours')
for (const [lat, lon] of places) {
  const observer = new A.Observer(lat, lon, 0)
  for (let utc = Date.UTC(year, 0, 1); utc < Date.UTC(year + 1, 0, 1); utc += 24 * hour) {
    const meanNoon = utc + (12 - lon / 15) * hour
    // The equation of time is never more than 17 minutes.
    const around = (t, angle) =>
      A.SearchHourAngle(A.Body.Sun, observer, angle, new Date(t - hour)).time.date.getTime()
    const noon = around(meanNoon, 0)
    const midnights = [around(meanNoon - 12 * hour, 12), around(meanNoon + 12 * hour, 12)]

    const event = (direction) => {
      const found = A.SearchAltitude(A.Body.Sun, observer, direction, new Date(midnights[0]), 1.1, altitude)
      const t = found?.date.getTime()
      return t !== undefined && t < midnights[1] ? t : null
    }
    const up = (t) => {
      const time = new Date(t)
      const eq = A.Equator(A.Body.Sun, time, observer, true, true)
      return A.Horizon(time, observer, eq.ra, eq.dec).altitude > altitude
    }
    const rise = event(+1)
    const set = event(-1)
    let hours
    if (rise === null && set === null) hours = up(noon) ? 24 : 0
    else if (rise !== null && set !== null && rise > set) hours = 24 - (rise - set) / hour
    else hours = ((set ?? midnights[1]) - (rise ?? midnights[0])) / hour

    const of = (t) => fixed(t === null ? null : (t - utc) / hour)
    console.log([lat, lon, new Date(utc).toISOString().slice(0, 10), of(rise), of(noon), of(set), hours.toFixed(4)].join(','))
  }
}
