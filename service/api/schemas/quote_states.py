"""What is told about a quote after it is made."""

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import YesNo


class CutRequest(StrictSchema):
    """Body of POST /v1/quotes/{id}/cut: whether what is left over goes to the offcuts on hand."""

    store_remnants = YesNo(required=True)


CUT_REQUEST = CutRequest()
