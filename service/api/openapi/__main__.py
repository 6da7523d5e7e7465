import sys

from service.api.app import OPERATIONS
from service.api.openapi import render

sys.stdout.write(render(OPERATIONS))
