"""What a controller switches and sees beside its axes and heaters: outputs, inputs, the door."""
