import sys

from service.api.app import OPERATIONS
from service.api.openapi import render
from service.api.references import REFERENCES

sys.stdout.write(render(OPERATIONS, REFERENCES))
