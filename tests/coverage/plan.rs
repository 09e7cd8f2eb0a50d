//! The checks that are drawn.

/// One plan with all of them.
pub(crate) const PLAN: &str = r#"
name = "held"
unit = "in"
[[part]]
name = "ring"
kind = "spacer"
[[part.check]]
name = "face-8"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "face-stand"
measures = "parallelism"
gauge = "plate"
setup = "plate"
moves = "stand"
positions = 8
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "face-thrice"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
touches = 3
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "face-16"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 16
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "thickness"
measures = "thickness-variation"
gauge = "plate"
setup = "anvil"
positions = 8
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "flat-16"
measures = "flatness"
gauge = "plate"
setup = "plate"
positions = 8
radii = ["1.2 in", "1.5 in"]
tolerance = "0.001 in"
[[part.check]]
name = "flat-8"
measures = "flatness"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "0.001 in"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
radius = "1.5 in"
nominal = "2 in"
min = "1.999 in"
max = "2.001 in"
master = "both"
master_size = "2 in"
master_uncertainty = "0.000004 in"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part.check]]
name = "pair"
measures = "difference"
of = ["ring/length", "other/length"]
arrangement = "back-to-back"
nominal = "0 in"
tolerance = "0.001 in"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part]]
name = "other"
kind = "spacer"
[[part.check]]
name = "length"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 4
radius = "1.5 in"
nominal = "2 in"
min = "1.999 in"
max = "2.001 in"
master = "both"
master_size = "2 in"
master_uncertainty = "0.000004 in"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part]]
name = "shaft"
kind = "shaft"
[[part.check]]
name = "square"
measures = "squareness"
gauge = "plate"
positions = 8
radii = ["0.75 in", "1.5 in"]
stand = "0 in"
tolerance = "0.001 in"
[[part.check]]
name = "turn-10"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 10
stand = "0 in"
tolerance = "0.001 in"
[[part.check]]
name = "turn-24"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 24
stand = "0 in"
tolerance = "0.001 in"
[[part.check]]
name = "turn-100"
measures = "runout"
gauge = "plate"
touch = "outside"
positions = 100
stand = "0 in"
tolerance = "0.001 in"
[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
touch = "outside"
positions = 10
seatings = 4
stations = [ { at = "3 in", tolerance = "0.001 in", seating = "0.000004 in" } ]
stand = "0 in"
bar = "0 in"
[[part.check]]
name = "taper"
measures = "taper"
gauge = "plate"
touch = "outside"
rate = "7/24"
stations = ["1 in", "2 in", "3 in"]
station_uncertainty = "0.00003 in"
tolerance = "0.001 in"
[[part]]
name = "bearing"
kind = "bearing"
[[part.check]]
name = "diameter"
measures = "diameter"
side = "bore"
gauge = "plate"
positions = 3
planes = 2
min = "1.999 in"
max = "2.001 in"
master_size = "2 in"
master_uncertainty = "0.000004 in"
material = "steel"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part.check]]
name = "offset"
measures = "face-offset"
gauge = "plate"
positions = 4
load = "200 N"
min = "-0.001 in"
max = "0.001 in"
master_size = "0 in"
master_uncertainty = "0 in"
[[part]]
name = "seat"
kind = "shaft"
[[part.check]]
name = "diameter"
measures = "diameter"
side = "outside"
gauge = "plate"
positions = 3
planes = 2
min = "1.999 in"
max = "2.001 in"
master_size = "2 in"
master_uncertainty = "0.000004 in"
material = "steel"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part]]
name = "third"
kind = "bearing"
[[part.check]]
name = "diameter"
measures = "diameter"
side = "bore"
gauge = "plate"
positions = 3
planes = 2
min = "1.999 in"
max = "2.001 in"
master_size = "2 in"
master_uncertainty = "0.000004 in"
material = "steel"
temperature_between = 0.1
off_20 = 1.0
expansion_uncertainty = 1e-6
[[part]]
name = "made"
kind = "other"
[[part.check]]
name = "fit"
measures = "fit"
bore = "bearing/diameter"
seat = "seat/diameter"
min = "-0.001 in"
max = "0.001 in"
[[part.check]]
name = "match"
measures = "match"
of = ["bearing/diameter", "seat/diameter", "third/diameter"]
tolerance = "0.001 in"
"#;
