"""What fields of several requests say of themselves."""

from service.api.quantities import says

VESSEL = says("A 1 l PET bottle for carbonated drinks unless stated.")
AIR = says("A soft bottle is squeezed, anything else purged, unless stated.")
TARGET = says("CO2 wanted in the drink; 7 g/l unless stated.")
NOW = says("By which the age of a vessel is judged; it is not judged unless this is stated.")
