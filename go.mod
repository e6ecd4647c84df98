module budswell

go 1.26

require (
	github.com/mitchellh/mapstructure v1.5.0 // indirect
	github.com/paulmach/orb v0.12.0 // indirect
	github.com/ringsaturn/tzf v1.0.2 // indirect
	github.com/ringsaturn/tzf-rel-lite v0.0.2025-b2 // indirect
	github.com/tidwall/geoindex v1.7.0 // indirect
	github.com/tidwall/geojson v1.4.5 // indirect
	github.com/tidwall/rtree v1.10.0 // indirect
	github.com/twpayne/go-polyline v1.1.1 // indirect
	go.mongodb.org/mongo-driver v1.11.4 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
	google.golang.org/protobuf v1.36.9 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
