"""The get-home kit: the item of the shipped fitting lists that the customer's sheet speaks of."""

GET_HOME_KIT = "get-home-kit"
GET_HOME_DECLINED = "owner declines"
